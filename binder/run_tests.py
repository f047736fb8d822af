#!/usr/bin/env python3
"""Run the tests: python3 binder/run_tests.py [--full] [--require-browser] [--require-node] [anything pytest takes].

Without ``--full`` the fast tier of every test runs; with it the slow sweeps too, and each benchmark once. The rules that
ruff, mypy and, where there is Node, the scripts' own tools look after are tests among them. All tests together run on one
worker more than the machine has processors; named files, debuggers and benchmarks on one.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("The tests need Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import argparse
import hashlib
import os
import shutil
import subprocess

from environment import HOME, PROJECT, clean_variables, ensure, in_use, say, stop_with_a_sentence

SCREEN = PROJECT / "simulator" / "panels" / "screen"
EVERYTHING = ("tests", "simulator", "lessons")
MAX_WORKERS = 8  # each may run a server, a browser and a kernel
WAITED_FOR = 1  # more workers than processors: a third of the time goes by waiting for browsers and kernels
#: Words of a caller who wants one process, or says how many.
ONE_PROCESS = ("--numprocesses", "--dist", "-s", "--pdb", "--trace", "-m", "--collect-only", "--co")


def workers(extra: list[str]) -> list[str]:
    """The options that spread the tests over the processors; files stay together, in their order."""
    if any(
        word.split("=")[0] in ONE_PROCESS or word == "--capture=no" or word.startswith("-n") for word in extra
    ):
        return []
    processors = os.cpu_count() or 1
    count = min(processors + WAITED_FOR, MAX_WORKERS)
    return [] if processors < 2 else ["-n", str(count), "--dist", "loadscope", "--no-loadscope-reorder"]


def command(full: bool, extra: list[str]) -> list[str]:
    """What to hand to pytest: everything, unless the caller names files or folders."""
    named = any((PROJECT / word.split("::")[0]).exists() for word in extra if not word.startswith("-"))
    chosen = [] if named else [folder for folder in EVERYTHING if (PROJECT / folder).is_dir()]
    tier = ["-m", "", "--benchmark-disable"] if full else []
    spread = [] if named else workers(extra)
    return ["-m", "pytest", "--nbval-lax", "--nbval-current-env", *spread, *tier, *chosen, *extra]


def ready_script_tools() -> None:
    """Install what the scripts' lock names where it is not there yet; without npm or a network the gates skip, loudly."""
    npm = shutil.which("npm")
    lock, mark = SCREEN / "package-lock.json", HOME / "scripts-tools"
    if npm is None or not lock.is_file():
        return
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    installed = (SCREEN / "node_modules" / ".package-lock.json").is_file()
    if installed and mark.is_file() and mark.read_text(encoding="utf-8") == wanted:
        return
    say("Adding the tools of the page's scripts ...")
    done = subprocess.run(
        [npm, "ci", "--no-audit", "--no-fund", "--ignore-scripts", "--loglevel", "error"],
        cwd=SCREEN, env=clean_variables(), stdin=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    if done.returncode:
        say("They could not be installed: the scripts' gates are left out.")
        return
    mark.write_text(wanted, encoding="utf-8")


def main() -> int:
    parser = argparse.ArgumentParser(
        description="Run the tests.", epilog="All other arguments go to pytest.", allow_abbrev=False
    )
    parser.add_argument("--full", action="store_true", help="the slow sweeps too")
    parser.add_argument(
        "--require-browser", action="store_true", help="fail when there is no Chromium to drive"
    )
    parser.add_argument(
        "--require-node", action="store_true", help="fail when there is no Node for the scripts"
    )
    options, extra = parser.parse_known_args()
    environment = ensure("test")
    required = {
        "SIMULATOR_REQUIRE_BROWSER": options.require_browser,
        "SIMULATOR_REQUIRE_NODE": options.require_node,
    }
    more = {name: "1" for name, asked in required.items() if asked}
    with in_use(environment):
        ready_script_tools()
        return subprocess.run(
            [environment.python, *command(options.full, extra)],
            cwd=PROJECT,
            env=clean_variables(**more),
            check=False,
        ).returncode


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
