#!/usr/bin/env python3
"""Write everything that is meant for paper: python3 binder/make_papers.py [FOLDER].

Yard cards, the form for a watched job, a session plan a lesson, and the catalogue of faults a rig, with a page that lists
them. The folder is ``papers`` beside the project unless another one is named.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("The papers need Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import argparse
import subprocess
from pathlib import Path

from environment import PROJECT, clean_variables, ensure, in_use, stop_with_a_sentence


def main() -> int:
    parser = argparse.ArgumentParser(description="Write yard cards, forms, plans and catalogue for paper.")
    parser.add_argument("folder", nargs="?", default=str(PROJECT / "papers"), help="where to write them")
    folder = Path(parser.parse_args().folder).absolute()
    environment = ensure("run")
    with in_use(environment):
        return subprocess.run(
            [environment.python, "-m", "simulator.panels.papers", "--out", str(folder), "--catalogue"],
            cwd=PROJECT,
            env=clean_variables(),
            check=False,
        ).returncode


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
