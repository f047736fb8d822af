#!/usr/bin/env python3
"""Make anew the data that are kept in the package and follow from it: python3 binder/make_data.py [--check] [--only X].

To be run after a fault, a check, a remedy, a call-out or the physics has changed: the published schema of call-outs,
the hypotheses kept of each call-out and yard card (five minutes of processor time), the minutes shown on the call sheet,
the notebooks of our lessons and their manifest. ``--check`` only says what would change; ``--only schema`` is enough
while a fault is new: the hypotheses are made once, after the last change. ``--only lessons`` makes all that a new
lesson needs.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("This needs Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import argparse
import subprocess

from environment import PROJECT, clean_variables, ensure, in_use, say, stop_with_a_sentence

SCHEMA = ("simulator.scenario", "the published schema of call-outs", False)
SETS = ("simulator.diagnosis.scenario_sets", "the hypotheses kept of each call-out and yard card", True)
NOTEBOOKS = ("simulator.panels.lessons.notebooks", "the notebooks of our lessons", True)
MINUTES = (
    "simulator.panels.trainer.call_sheet.minutes",
    "the minutes that each call takes to look at",
    False,
)
MANIFEST = ("simulator.page_extension.manifest", "the manifest of our notebooks", True)
#: By name: modules, what each makes, and whether it knows ``--check``.
STEPS = {
    "schema": (SCHEMA,),
    "lessons": (NOTEBOOKS, MANIFEST),
    "manifest": (MANIFEST,),
    "sets": (SETS,),
    "minutes": (MINUTES,),
}


def main() -> int:
    parser = argparse.ArgumentParser(
        description="Make the data anew that follow from the rest of the package."
    )
    parser.add_argument("--check", action="store_true", help="only say what would change")
    parser.add_argument(
        "--only", action="append", choices=STEPS, help="make these alone (may be given again)"
    )
    options = parser.parse_args()
    check = options.check
    environment, wrong = ensure("run"), 0
    with in_use(environment):
        for module, what, can_check in dict.fromkeys(
            step for name in options.only or STEPS for step in STEPS[name]
        ):
            if check and not can_check:
                continue
            say(f"{'Looking at' if check else 'Making'} {what} ...")
            command = [environment.python, "-m", module, *(["--check"] if check else [])]
            wrong += bool(subprocess.run(command, cwd=PROJECT, env=clean_variables(), check=False).returncode)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
