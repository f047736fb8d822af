#!/usr/bin/env python3
"""All commands for who trains others, behind one: python3 binder/trainer.py COMMAND ...

  papers [FOLDER]     write cards, forms, plans and the list of keys into a folder, to be printed
  check FILE ...      say of each file whether it can be used, and if not, which line is wrong
  level FILE ...      say how hard each call-out is
  figures             say whether your file of figures is in use, and what is wrong with it if it is not
  class ...           open the lessons to a class, in this window until Ctrl-C
  backup, restore COPY, check-records, rescue
                      keep the records of those who learn, put a copy back, look them over, save what can be read
  export FOLDER       write the records as tables for a spreadsheet
  forget NAME         take all work of a person out of the records, for good
  backup-class [TO], restore-class COPY
                      copy a whole class (records, list of learners, call sheets), or put a copy back

COMMAND --help says more about each.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("This needs Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import difflib
import os
import subprocess
from pathlib import Path

import open_class
from environment import PROJECT, StartError, clean_variables, ensure, in_use, stop_with_a_sentence

#: Each command, the module that does it, and what is put before the words of the command line.
COMMANDS = {
    "papers": ("simulator.panels.papers", ("--catalogue",)),
    "check": ("simulator.panels.trainer.check", ()),
    "level": ("simulator.attempt.level", ()),
    "figures": ("simulator.scenario.check", ("--settings",)),
    "backup": ("simulator.records", ("backup",)),
    "restore": ("simulator.records", ("restore",)),
    "export": ("simulator.records", ("export",)),
    "forget": ("simulator.records", ("forget",)),
    "check-records": ("simulator.records", ("check",)),
    "rescue": ("simulator.records", ("rescue",)),
    "backup-class": ("simulator.classroom", ("backup",)),
    "restore-class": ("simulator.classroom", ("restore",)),
}
TYPED = "SIMULATOR_COMMAND"  # tells a command how it was typed
CLASS = "class"  # has an environment and a program of its own
HELP = ("", "-h", "--help", "help")


def words_for(command: str, given: list[str]) -> list[str]:
    """The words for a command's module; paths count from the folder in which they were typed."""
    _, before = COMMANDS[command]
    if command == "papers" and not any(word.startswith("-") for word in given):
        if len(given) > 1:
            raise StartError(
                f"papers takes one folder, and here are {len(given)}. A name with blanks needs quotes."
            )
        return [*before, "--out", str(Path(given[0] if given else PROJECT / "papers").absolute())]
    if command == "backup-class":  # a folder that is not there yet is a path too
        return [*before, *(word if word.startswith("-") else str(Path(word).absolute()) for word in given)]
    if command == "forget":  # a name of a person, which may be that of a file too
        return [*before, *given]
    return [*before, *(str(Path(word).absolute()) if there(word) else word for word in given)]


def typed(command: str) -> str:
    """What was typed, for sentences that name it."""
    return f"{'py' if os.name == 'nt' else 'python3'} {sys.argv[0]} {command}"


def there(word: str) -> bool:
    """Whether a word is the name of something that is there; one that can be no name is none."""
    try:
        return Path(word).exists()
    except (OSError, ValueError):
        return False


def main() -> int:
    command, given = (sys.argv[1] if len(sys.argv) > 1 else ""), sys.argv[2:]
    if command in HELP:
        sys.stdout.write(__doc__ or "")
        return 0
    if command == CLASS:
        os.environ[TYPED] = typed(command)
        sys.argv = [sys.argv[0], *given]
        return open_class.main()
    if command not in COMMANDS:
        every = (*COMMANDS, CLASS)
        close = difflib.get_close_matches(command, every, 1)
        meant = f" Did you mean {close[0]!r}?" if close else ""
        sys.stderr.write(f"There is no command {command!r}.{meant} Legal: {', '.join(every)}.\n")
        return 2
    module, words = COMMANDS[command][0], words_for(command, given)
    environment = ensure("run")
    with in_use(environment):
        return subprocess.run(
            [environment.python, "-m", module, *words],
            cwd=PROJECT,
            env=clean_variables(**{TYPED: typed(command)}),
            check=False,
        ).returncode


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
