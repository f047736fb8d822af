#!/usr/bin/env python3
"""Open the lessons to a class: python3 binder/open_class.py [--address A] [--port N] [--certificate FILE --key FILE].

  --address A        of this machine in the room's network (without it the class is open on this machine alone)
  --port N           the port to serve on (without it the first free one from 8000)
  --certificate FILE --key FILE
                     certificate and its key (PEM), for encrypted pages
  --own-accounts     each learner's pages run under an account of their own (Linux, as administrator): sealed calls are
                     sealed
  --new-words        another class word and trainer's password
  --no-browser       do not open the page for the wall
  --check            make the environment ready and end

It runs in this window until Ctrl-C.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("A class needs Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import os
import subprocess

from environment import PROJECT, StartError, clean_variables, ensure, in_use, say, stop_with_a_sentence
from lesson_server import WARM_UP

RUN = PROJECT / "binder" / "hub" / "run_class.py"
HELP = ("-h", "--help")


def refuse_windows(system: str = os.name) -> None:
    """Say before anything is made that the hub does not run there, and what to do.

    Raises
    ------
    StartError : this is Windows.
    """
    if system == "nt":
        raise StartError(
            "A class cannot be opened on Windows itself: the hub that carries it does not run there. Nothing was "
            "installed. Use a Linux machine or a Mac, or the Linux inside Windows: run 'wsl --install' once in a "
            "terminal, then this same command in its window. Lessons for one person open on Windows too: "
            "py binder\\open_lessons.py"
        )


def main() -> int:
    if any(word in HELP for word in sys.argv[1:]):
        sys.stdout.write(__doc__ or "")
        return 0
    refuse_windows()
    environment = ensure("class")
    if sys.argv[1:] == ["--check"]:
        say(f"The environment for a class is ready: {environment.folder}")
        return 0
    if sys.argv[1:] == ["--warm-up"]:
        with in_use(environment):
            subprocess.run(
                [environment.python, "-c", WARM_UP], env=clean_variables(), check=True, cwd=PROJECT
            )
        say("The model is ready.")
        return 0
    # this program becomes the other one, so that Ctrl-C and every signal reach what carries the class
    os.execve(environment.python, [str(environment.python), str(RUN), *sys.argv[1:]], clean_variables())
    return 1


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
