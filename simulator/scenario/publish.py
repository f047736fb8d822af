"""The published JSON Schema of scenario files. ``python -m simulator.scenario`` writes it anew."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from simulator.scenario.model import VERSION, Scenario

SCHEMA_FILE = Path(__file__).parent / "schema" / f"scenario-{VERSION}.schema.json"
_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a scenario file, as plain data. The program refuses what it refuses.

    Examples
    --------
    >>> json_schema()["properties"]["format"]["const"]
    'callout-scenario'
    """
    schema = Scenario.model_json_schema()
    return {
        "$schema": _DIALECT,
        "$id": f"urn:callout-scenario:{VERSION}",
        **schema,
        "required": _required(schema),
    }


def _required(schema: dict[str, Any]) -> list[str]:
    # A file must say what it is; a scenario made in the program need not.
    return ["format", "version", *schema["required"]]


def schema_text() -> str:
    """The schema as the text of its file.

    Examples
    --------
    >>> schema_text().endswith("}\\n")
    True
    """
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"
