"""Writes the published schema of scenario files anew: ``python -m simulator.scenario``."""

import argparse

from simulator.rig.command import command
from simulator.scenario.files import write_whole
from simulator.scenario.publish import SCHEMA_FILE, schema_text


def main() -> None:
    """Write the schema of the present version."""
    argparse.ArgumentParser(prog="python -m simulator.scenario", description=__doc__).parse_args()
    SCHEMA_FILE.parent.mkdir(exist_ok=True)
    write_whole(SCHEMA_FILE, schema_text().encode("utf-8"))


if __name__ == "__main__":
    raise SystemExit(command(main))
