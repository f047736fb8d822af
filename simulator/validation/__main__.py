"""``python -m simulator.validation --out report.html``: check the model and write the report.

Ends with 0 when every check is within its tolerance, with 1 when one is not, with 2 when the page cannot be written.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from simulator.rig.command import command
from simulator.validation.report import make_report, write


def main(arguments: Sequence[str] | None = None) -> int:
    """Run all checks, write the page, tell what missed; returns the exit code.

    Parameters
    ----------
    arguments : of the command; those of the process by default.
    """
    parser = argparse.ArgumentParser(
        prog="python -m simulator.validation",
        description="Check the model and write the report as one HTML page.",
    )
    parser.add_argument("--out", type=Path, default=Path("validation-report.html"), help="the page to write")
    parser.add_argument("--quiet", action="store_true", help="say nothing but what missed")
    options = parser.parse_args(arguments)

    def say(sentence: str) -> None:
        if not options.quiet:
            sys.stdout.write(f"{sentence}\n")
            sys.stdout.flush()

    try:
        options.out.touch()
    except OSError as error:
        sys.stderr.write(f"The page cannot be written to {options.out}: {error.strerror}.\n")
        return 2
    report = make_report(progress=lambda name: say(f"checking: {name}"))
    write(report, options.out)
    for sentence in report.misses:
        sys.stderr.write(f"MISSED: {sentence}\n")
    absent = f", {report.count('absent')} not installed" if report.count("absent") else ""
    say(
        f"{report.count('pass')} checks passed, {report.count('miss')} missed{absent}. The page: {options.out}"
    )
    return 0 if report.passed else 1


if __name__ == "__main__":
    sys.exit(command(main))
