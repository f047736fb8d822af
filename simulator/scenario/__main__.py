"""Writes the published schema of scenario files anew: ``python -m simulator.scenario``."""

from simulator.scenario.publish import SCHEMA_FILE, schema_text

if __name__ == "__main__":
    SCHEMA_FILE.parent.mkdir(exist_ok=True)
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
