"""Mutated and random call-outs through builder and loader: a sentence or a whole call-out, no traceback, never half."""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from simulator.errors import InputError
from simulator.panels.lessons.practice_yard.call_book import OWN_FOLDER, book_folder
from simulator.panels.trainer.call_builder.background import Judging
from simulator.panels.trainer.call_builder.draft import Draft, problems_of
from simulator.panels.trainer.call_builder.page import CallBuilder
from simulator.rig.faults import FAULTS
from simulator.scenario import Scenario, random_scenario, read_scenario, scenario_text
from simulator.scenario.files import ENDING
from tests.conftest import some

FILES = [path.read_bytes() for path in sorted(Path(book_folder() or ".").glob(f"*{ENDING}"))]
BATCHES, EACH = 20, 25  # 500 mutated
RANDOM_BATCHES, RANDOM_EACH = 20, 10  # 200 random
#: What nobody expects where a figure, a word or a line should be.
ODD = [
    "", " ", "~", "null", "true", "-0", "1e309", "-1e309", ".nan", ".inf", "0x1f", "1_000", "9" * 400, "1" * 5000, "[]",
    "{}", "[[[[", "{{{{", "&a", "*a", "!!python/object:os.system x", "!x", "---", "...", "\t", "\x00", "\x1b[2J",
    "\u202e", "\u2028", "\ud800", "ﬁ", "💧", "'", '"', "|", ">", "#", ":", "- -", "?", "%YAML 9.9", "joint:0", "joint:-1",
    "joint:1e9", "joint:" + "9" * 400, "length:1", "5 m", "5,5", "16 ft", "4 furlongs", "40:00", "<b>x</b>", "x" * 70_000,
]  # fmt: skip


@pytest.fixture(autouse=True)
def quiet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own; look-alikes and level are not what is tried here."""
    monkeypatch.setenv(OWN_FOLDER, str(tmp_path / "own"))
    monkeypatch.setattr(Judging, "wanted", lambda self, scenario: None)
    return tmp_path / "own"


@pytest.fixture
def page(new_session: Callable[[], Any]) -> CallBuilder:
    made = CallBuilder(new_session())
    made.desk(), made.text()
    return made


def mutated(chance: random.Random) -> str:
    """A file of the book with one to four things changed: bytes, lines, keys, values, whole parts of other files."""
    written = chance.choice(FILES).decode("utf-8")
    for _ in range(chance.randint(1, 4)):
        lines = written.splitlines(keepends=True) or [""]
        at = chance.randrange(len(lines))
        how = chance.randrange(9)
        if how == 0:  # a value
            lines[at] = lines[at].partition(":")[0] + ": " + chance.choice(ODD) + "\n"
        elif how == 1:  # a key
            lines[at] = chance.choice(ODD) + ":" + lines[at].partition(":")[2]
        elif how == 2:
            del lines[at]
        elif how == 3:
            lines.insert(at, chance.choice(lines))
        elif how == 4:  # a letter
            place = chance.randrange(max(len(written), 1))
            lines = [written[:place] + chance.choice(ODD) + written[place + 1 :]]
        elif how == 5:  # cut off
            lines = [written[: chance.randrange(len(written) + 1)]]
        elif how == 6:  # a figure
            figures = [n for n, line in enumerate(lines) if line.strip()[-1:].isdigit()]
            if figures:
                n = chance.choice(figures)
                value = chance.choice(["-1", "0", "1e9", "-40", "0.001", "12", "4000", "40"])
                lines[n] = f"{lines[n].partition(':')[0]}: {value}\n"
        elif how == 7:  # another indent
            lines[at] = " " * chance.randrange(8) + lines[at].lstrip()
        else:
            other = chance.choice(FILES).decode("utf-8").splitlines(keepends=True)
            lines[at:at] = other[chance.randrange(len(other)) :]
        written = "".join(lines)
    return written


def loaded(written: str) -> Scenario | None:
    """What the loader makes of it: a call-out, or a sentence."""
    try:
        return read_scenario(written, "text")
    except InputError as error:
        said = str(error)
        assert said.strip()
        assert "Traceback" not in said
        return None


@pytest.mark.parametrize("batch", some(range(BATCHES), 10))
def test_a_mutated_file_is_taken_over_whole_or_not_at_all(
    page: CallBuilder, click: Callable[..., dict[str, Any]], quiet: Path, batch: int
) -> None:
    chance = random.Random(f"mutated {batch}")
    for n in range(EACH):
        written = mutated(chance)
        want = loaded(written)
        before = page.draft.fields, page.name
        answer = click(page, "text", text=written)
        told = page.text().block("hand")
        if want is None:
            assert told["problem"], written
            assert (page.draft.fields, page.name) == before, "nothing of it may stay"
        else:
            assert not told["problem"], answer
            assert page.scenario is not None
            assert page.scenario.content() == want.content()
            assert read_scenario(page.draft.written(), "again").content() == want.content()
        # and as a file in the trainer's folder
        quiet.mkdir(parents=True, exist_ok=True)
        (quiet / f"odd_{n}{ENDING}").write_bytes(written.encode("utf-8", "surrogatepass"))
        before = page.draft.fields, page.name
        for _ in range(2):  # what is not saved is left at the second press
            click(page, "open", which=f"own:odd_{n}")
        if page.name != f"odd_{n}":
            assert want is None
            assert (page.draft.fields, page.name) == before
        else:
            assert want is not None
            assert page.scenario is not None
            assert page.scenario.content() == want.content()
            assert page.draft.written() == (quiet / f"odd_{n}{ENDING}").read_bytes()


@pytest.mark.parametrize("batch", some(range(BATCHES), 10))
def test_whatever_stands_in_the_fields_is_a_call_out_or_is_told_at_a_field(batch: int) -> None:
    chance = random.Random(f"fields {batch}")
    for _ in range(EACH):
        draft = Draft.opened(chance.choice(FILES), "a file")
        for _ in range(chance.randint(1, 6)):
            if chance.random() < 0.15:
                fault, place = chance.choice([*FAULTS, *ODD[:20]]), chance.choice(["", "joint:2", *ODD[:40]])
                with contextlib.suppress(InputError):  # there are two already
                    draft.add_fault(fault, place)
            name = chance.choice(list(draft.fields))
            draft.set(name, chance.choice(ODD) if chance.random() < 0.6 else str(chance.randint(-9, 99)))
        scenario, problems = problems_of(draft.fields)
        assert (scenario is None) == bool(problems)
        for problem in problems:
            assert problem.what.strip()
            assert problem.field in draft.fields
        if scenario is None:
            with pytest.raises(InputError):
                draft.written()
        else:
            assert read_scenario(draft.written(), "again").content() == scenario.content()


@pytest.mark.parametrize("batch", some(range(RANDOM_BATCHES), 20))
def test_a_random_call_out_comes_back_the_same_through_fields_text_and_file(
    page: CallBuilder, click: Callable[..., dict[str, Any]], batch: int
) -> None:
    chance = random.Random(f"random {batch}")
    for _ in range(RANDOM_EACH):
        call = random_scenario(chance.randrange(10**9), level=chance.choice(["first", "usual", "hard"]))
        written = scenario_text(call)
        assert loaded(written) == call
        click(page, "text", text=written)
        assert page.scenario is not None
        assert page.problems == []
        assert page.scenario.content() == call.content()
        assert Draft.opened(written.encode("utf-8"), "a file").written().decode("utf-8") == written
