"""Words of the trade: each names its source, or says that it is common practice without one."""

from __future__ import annotations

import re

from simulator.texts import entry

NONE = "common practice, no source"
STANDARD = re.compile(r"(?:ISO|EN) \d+(?:-\d+)?, [A-Z]")


def test_every_word_of_the_trade_names_its_source_or_says_that_there_is_none() -> None:
    terms = entry("glossary.terms")
    for name, term in terms.items():
        source = str(term["source"])
        assert source == NONE or (STANDARD.match(source) and source.endswith("named from memory")), name
    assert sum(term["source"] == NONE for term in terms.values()) < len(terms)
