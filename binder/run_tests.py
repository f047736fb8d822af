#!/usr/bin/env python3
"""Run the tests: python3 binder/run_tests.py [--full] [--require-browser] [anything pytest takes].

Without ``--full`` the fast tier of every test runs; with it the slow sweeps too, and each benchmark once.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("The tests need Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import argparse
import subprocess

from environment import PROJECT, clean_variables, ensure, in_use, stop_with_a_sentence

EVERYTHING = ("tests", "simulator", "lessons")


def command(full: bool, extra: list[str]) -> list[str]:
    """What to hand to pytest: everything, unless the caller names files or folders."""
    named = any((PROJECT / word.split("::")[0]).exists() for word in extra if not word.startswith("-"))
    chosen = [] if named else [folder for folder in EVERYTHING if (PROJECT / folder).is_dir()]
    tier = ["-m", "", "--benchmark-disable"] if full else []
    return ["-m", "pytest", "--nbval-lax", "--nbval-current-env", *tier, *chosen, *extra]


def main() -> int:
    parser = argparse.ArgumentParser(
        description="Run the tests.", epilog="All other arguments go to pytest.", allow_abbrev=False
    )
    parser.add_argument("--full", action="store_true", help="the slow sweeps too")
    parser.add_argument(
        "--require-browser", action="store_true", help="fail when there is no Chromium to drive"
    )
    options, extra = parser.parse_known_args()
    environment = ensure("test")
    more = {"SIMULATOR_REQUIRE_BROWSER": "1"} if options.require_browser else {}
    with in_use(environment):
        return subprocess.run(
            [environment.python, *command(options.full, extra)],
            cwd=PROJECT,
            env=clean_variables(**more),
            check=False,
        ).returncode


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
