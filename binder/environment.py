"""Makes and keeps the Python environment the launchers use; standard library only; Windows, macOS, Linux.

The environment lies in ``.lessons-environment`` in the project's folder, under a name made from all that it
depends on: the lock, this Python and the project's own place. A changed lock, another Python or a moved
project make a new one; a half-made or damaged one is made again. Nothing else is written to.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import importlib.util
import json
import os
import platform
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
HOME = PROJECT / ".lessons-environment"
LOCKS = {
    "run": PROJECT / "binder" / "requirements.txt",
    "class": PROJECT / "binder" / "requirements-class.txt",
    "test": PROJECT / "binder" / "requirements-test.txt",
}
WHO_NEEDS = {"class": "a class", "test": "a test"}
STAMP = "made.json"
ROOM_NEEDED = 1_500_000_000  # bytes, an environment with the tests' packages and what pip unpacks on the way

ALGEBRA = "OPENBLAS_NUM_THREADS"

# Settings of the caller's that would send packages elsewhere or let foreign code in.
UNWANTED = (
    "PYTHONHOME", "PYTHONPATH", "PYTHONSTARTUP", "VIRTUAL_ENV", "__PYVENV_LAUNCHER__",
    "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT", "PIP_USER", "PIP_REQUIRE_VIRTUALENV", "PIP_REQUIRE_HASHES",
    "PIP_NO_DEPS", "PIP_DRY_RUN",
    "PYTHONDONTWRITEBYTECODE",  # usual in images: each kernel would compile all of its sources again
)  # fmt: skip
#: Installed with others, needed by nothing here, and three seconds of every server's start: the check of a kind of
#: address that ``jsonschema`` does without.
LEFT_OUT = ("rfc3987-syntax", "lark")

Say = Callable[[str], None]


class StartError(Exception):
    """What stands in the way, as a sentence with a way out."""


@dataclass(frozen=True)
class Environment:
    """A finished environment: its folder and its Python."""

    folder: Path

    @property
    def python(self) -> Path:
        return python_of(self.folder)


def say(sentence: str) -> None:
    """Tell the person at the terminal."""
    print(sentence, flush=True)


def python_of(folder: Path) -> Path:
    """The Python of a virtual environment."""
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def clean_variables(**extra: str) -> dict[str, str]:
    """The caller's environment variables without those that would lead astray.

    One thread for the algebra of NumPy, unless the caller says otherwise: its matrices are of some dozens of rows here,
    and several threads that wait for each other take a fifth of the processor away from everything else.
    """
    kept = {key: value for key, value in os.environ.items() if key not in UNWANTED}
    return {ALGEBRA: "1"} | kept | {"PYTHONNOUSERSITE": "1", "PYTHONUTF8": "1"} | extra


def digest(*parts: str) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:12]


def fingerprint() -> str:
    """Names the environment after everything it depends on."""
    lock = LOCKS["run"].read_text(encoding="utf-8")
    base = getattr(sys, "_base_executable", sys.executable)
    return digest(lock, sys.version, platform.machine(), os.path.realpath(base), str(PROJECT))


@contextlib.contextmanager
def held(path: Path, *, wait: bool, say: Say = say) -> Iterator[bool]:
    """Hold a file's lock while the block runs; yields False when another program holds it and we do not wait.

    The system lets go of it when the program ends, however it ends.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a+b") as file:
        told = False
        while True:
            try:
                got = try_lock(file.fileno())
            except OSError:  # a file system without locks: go on without
                got = True
            if got or not wait:
                break
            if not told:
                say("Another window is setting up the lessons; waiting for it ...")
                told = True
            time.sleep(0.5)
        try:
            yield got
        finally:
            if got:
                with contextlib.suppress(OSError):
                    unlock(file.fileno())


def try_lock(descriptor: int) -> bool:
    """Take the lock of an open file if nobody has it."""
    if os.name == "nt":
        import msvcrt

        os.lseek(descriptor, 0, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
    import fcntl

    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def unlock(descriptor: int) -> None:
    """Let go of the lock of an open file."""
    if os.name == "nt":
        import msvcrt

        os.lseek(descriptor, 0, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)
    else:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_UN)


@contextlib.contextmanager
def in_use(environment: Environment) -> Iterator[None]:
    """Mark the environment as used, so that another launcher does not remove it."""
    mark = HOME / "in-use" / f"{environment.folder.name}-{os.getpid()}"
    with held(mark, wait=False):
        yield
    with contextlib.suppress(OSError):
        mark.unlink()


def is_used(folder: Path) -> bool:
    """Whether a launcher that still runs uses this environment."""
    for mark in (HOME / "in-use").glob(f"{folder.name}-*"):
        with held(mark, wait=False) as free:
            if not free:
                return True
        with contextlib.suppress(OSError):
            mark.unlink()
    return False


def packages_in(folder: Path) -> list[str]:
    """The installed packages, by the names of their record folders."""
    return sorted(path.name for path in folder.glob("[Ll]ib/**/site-packages/*.dist-info"))


def read_stamp(folder: Path) -> dict[str, object]:
    try:
        stamp = json.loads((folder / STAMP).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def write_stamp(folder: Path, parts: dict[str, str]) -> None:
    """The last act of making an environment: without a stamp it counts as half made."""
    text = json.dumps({"parts": parts, "packages": packages_in(folder)}, indent=1)
    draft = folder / f"{STAMP}.new"
    draft.write_text(text, encoding="utf-8")
    draft.replace(folder / STAMP)


def is_whole(folder: Path) -> bool:
    """Whether an environment was finished, has lost nothing since and still starts."""
    stamp = read_stamp(folder)
    listed = stamp.get("packages")
    if not isinstance(listed, list) or not set(listed) <= set(packages_in(folder)):
        return False
    ask = "import pathlib, simulator; print(pathlib.Path(simulator.__file__).resolve().parent.parent)"
    try:
        answer = subprocess.run(
            [python_of(folder), "-I", "-X", "utf8", "-c", ask],
            capture_output=True, text=True, encoding="utf-8", timeout=60, check=True, env=clean_variables(),
        )  # fmt: skip
    except (OSError, subprocess.SubprocessError):
        return False
    return answer.stdout.strip() == str(PROJECT)


def ensure(part: str, say: Say = say) -> Environment:
    """The environment with the packages of a part ("run", "class" or "test"), made or completed when need be.

    Raises
    ------
    StartError : no room, no pip, no network, no packages for this kind of machine, or the folder cannot be written.
    """
    try:
        HOME.mkdir(exist_ok=True)
        with held(HOME / "making.lock", wait=True, say=say):
            return ensure_alone(part, say)
    except OSError as error:
        if isinstance(error, PermissionError) or error.errno == errno.EROFS:
            raise StartError(
                f"The folder {PROJECT} cannot be written. "
                "Copy the project to a folder of your own and start it there."
            ) from error
        if error.errno == errno.ENOSPC:
            raise no_room() from error
        raise StartError(f"The environment could not be made: {error}.") from error


def ensure_alone(part: str, say: Say) -> Environment:
    folder = HOME / f"python-{fingerprint()}"
    wanted = {name: digest(LOCKS[name].read_text(encoding="utf-8")) for name in ("run", part)}
    whole = is_whole(folder)
    parts = dict(read_stamp(folder).get("parts") or {}) if whole else {}  # type: ignore[call-overload]
    if whole and all(parts.get(name) == mark for name, mark in wanted.items()):
        return Environment(folder)

    refuse_intel_mac()
    if shutil.disk_usage(PROJECT).free < ROOM_NEEDED:
        raise no_room()
    log = HOME / "setting-up.log"
    log.write_text("", encoding="utf-8")
    started = time.monotonic()
    if not whole:
        if folder.exists():
            say("The lessons' environment is not whole; making it again ...")
            remove(folder)
        else:
            say("Making the lessons' own Python environment (the first time only, about a minute) ...")
        make_empty(folder, log)
        bring_pip(folder, log, say)
        install(folder, log, say, "--require-hashes", "-r", str(LOCKS["run"]), count=lines_in(LOCKS["run"]))
        # the build tool stands in the lock: nothing is fetched outside it
        install(folder, log, say, "--no-deps", "--no-build-isolation", "-e", str(PROJECT))
        leave_out(folder, log)
        write_stamp(folder, {"run": wanted["run"]})
    if part != "run":
        say(f"Adding the packages {WHO_NEEDS[part]} needs ...")
        install(folder, log, say, "--require-hashes", "-r", str(LOCKS[part]), count=lines_in(LOCKS[part]))
        leave_out(folder, log)
        write_stamp(folder, {**{name: mark for name, mark in parts.items() if name != part}, **wanted})
    compile_sources(folder)
    if not is_whole(folder):
        raise StartError(f"The environment was made but does not start. See {log}.")
    say(f"Ready after {time.monotonic() - started:.0f} s.")
    remove_unused(folder)
    return Environment(folder)


def lines_in(lock: Path) -> int:
    return sum(1 for line in lock.read_text(encoding="utf-8").splitlines() if line and line[0] not in "# ")


def make_empty(folder: Path, log: Path) -> None:
    """An empty virtual environment; one without pip of its own when this Python cannot give it one."""
    if importlib.util.find_spec("venv") is None:
        raise no_pip()
    without = [] if importlib.util.find_spec("ensurepip") else ["--without-pip"]
    if without and importlib.util.find_spec("pip") is None:
        raise no_pip()
    command = [sys.executable, "-I", "-m", "venv", *without, str(folder)]
    made = subprocess.run(command, capture_output=True, text=True, check=False, env=clean_variables())
    log.write_text(made.stdout + made.stderr, encoding="utf-8")
    if made.returncode and not without and importlib.util.find_spec("pip") is not None:
        remove(folder)
        command.insert(4, "--without-pip")
        made = subprocess.run(command, capture_output=True, text=True, check=False, env=clean_variables())
        log.write_text(made.stdout + made.stderr, encoding="utf-8")
    if made.returncode:
        raise explain(made.stdout + made.stderr, log)


def pip_of(folder: Path) -> list[str]:
    """How pip is called for an environment: its own, or this Python's on its behalf."""
    python = str(python_of(folder))
    has_pip = any(name.startswith("pip-") for name in packages_in(folder))
    return [python, "-I", "-m", "pip"] if has_pip else [sys.executable, "-I", "-m", "pip", "--python", python]


def bring_pip(folder: Path, log: Path, say: Say) -> None:
    """The pip that the lock names, first: one that is some years old takes half as long again over all others."""
    lock = LOCKS["run"].read_text(encoding="utf-8")
    entry = re.search(r"^pip==(?:.*\\\n)*.*\n", lock, re.MULTILINE)
    if entry is not None:
        alone = HOME / "pip.txt"
        alone.write_text(entry[0], encoding="utf-8")
        install(folder, log, say, "--require-hashes", "--no-deps", "-r", str(alone))


def compile_sources(folder: Path) -> None:
    """Compile what was installed, on all processors; pip would on one. What does not compile is no matter."""
    site = next(folder.glob("[Ll]ib/**/site-packages"))
    command = [str(python_of(folder)), "-I", "-m", "compileall", "-q", "-j", "0", str(site)]
    with contextlib.suppress(OSError):
        subprocess.run(command, capture_output=True, check=False, env=clean_variables())


def leave_out(folder: Path, log: Path) -> None:
    """Take out what came with others and only costs time; where that fails, it stays."""
    command = [*pip_of(folder), "uninstall", "--yes", "--no-input", "--disable-pip-version-check", *LEFT_OUT]
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=clean_variables(), cwd=HOME
    )
    with log.open("a", encoding="utf-8") as record:
        record.write(done.stdout + done.stderr)


def install(folder: Path, log: Path, say: Say, *arguments: str, count: int = 0) -> None:
    """Run pip for the environment, with its words in the log and its progress told now and then."""
    command = [
        *pip_of(folder), "install", "--no-input", "--disable-pip-version-check", "--no-warn-script-location",
        "--progress-bar", "off", "--retries", "2", "--no-color", "--no-compile", *arguments,
    ]  # fmt: skip
    words: list[str] = []
    seen, told = 0, time.monotonic()
    variables = clean_variables(PYTHONIOENCODING="utf-8")
    with (
        log.open("a", encoding="utf-8") as record,
        subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
            text=True, encoding="utf-8", errors="replace", env=variables, cwd=HOME,
        ) as process,
    ):  # fmt: skip
        assert process.stdout is not None
        for line in process.stdout:
            record.write(line)
            words.append(line)
            seen += line.startswith("Collecting ")
            if count and line.startswith("Installing collected"):
                say("  putting them in place")
            if count and time.monotonic() - told > 5:
                told = time.monotonic()
                say(
                    f"  {min(seen, count)} of {count} packages" if seen < count else "  putting them in place"
                )
    if process.returncode:
        raise explain("".join(words), log)


def explain(words: str, log: Path) -> StartError:
    """The sentence for a failed installation, from what pip said."""
    if re.search(r"No space left|Errno 28|not enough space|WinError 112", words, re.IGNORECASE):
        return no_room()
    if re.search(r"DO NOT MATCH THE HASHES|require-hashes", words):
        return StartError(
            "The files that the package index sent are not the ones that the lock names; none was installed. "
            f"Try again from another network, or ask whoever runs the index. Details: {log}"
        )
    network = (
        r"NewConnectionError|ConnectTimeout|ReadTimeout|Read timed out|name resolution|getaddrinfo"
        r"|Max retries"
        r"|ProxyError|SSLError|Connection (refused|reset|aborted|broken)|Network is unreachable"
        r"|ConnectionError|from versions: none"
    )
    if re.search(network, words):
        return StartError(
            "The packages could not be fetched. The first start needs the Internet (or your package index): "
            f"check the connection and run the same command again. Details: {log}"
        )
    if re.search(
        r"No matching distribution|Requires-Python|requires a different python", words, re.IGNORECASE
    ):
        return StartError(
            f"Some packages do not exist for Python {platform.python_version()} on {platform.system()} "
            f"{platform.machine()}. Python 3.11, 3.12 or 3.13 works. Details: {log}"
        )
    if re.search(r"ensurepip is not\s+available|No module named pip|No module named ensurepip", words):
        return no_pip()
    return StartError(f"The packages could not be installed. What pip said is in {log}")


def refuse_intel_mac() -> None:
    """Say before anything is fetched that compiler and server have no packages for this kind of machine any more.

    Raises
    ------
    StartError : this Python is one for a Mac with an Intel processor.
    """
    if sys.platform == "darwin" and platform.machine() == "x86_64":
        raise StartError(
            "Some packages of the lessons are no longer made for Macs with an Intel processor; nothing was fetched. "
            "Use Windows, Linux, a Mac with an Apple processor, or a Binder. Is this a Mac with an Apple processor? "
            "Then its Python is the one for Intel: install Python from python.org and run the command with that."
        )


def no_room() -> StartError:
    free = shutil.disk_usage(PROJECT).free / 1e9
    return StartError(
        f"There is too little room on the disk that holds {PROJECT}: {free:.1f} GB free, "
        f"{ROOM_NEEDED / 1e9:.1f} GB needed. Make room and run the same command again."
    )


def no_pip() -> StartError:
    return StartError(
        "This Python has no pip (or no venv) to install packages with. On Debian or Ubuntu: "
        "sudo apt-get install python3-venv python3-pip. Elsewhere install Python from python.org."
    )


def remove(folder: Path) -> None:
    """Remove an environment; a folder in use on Windows stays and is said."""
    shutil.rmtree(folder, ignore_errors=True)
    if folder.exists():
        shutil.rmtree(folder)


def remove_unused(keep: Path) -> None:
    """Remove environments made from an older lock or another Python, unless a launcher still uses them."""
    for old in HOME.glob("python-*"):
        if old != keep and not is_used(old):
            shutil.rmtree(old, ignore_errors=True)


def own_folder(path: Path) -> Path:
    """A folder that nobody else on this machine can look into, whoever made it before and how."""
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    path.chmod(0o700)
    return path


def stop_with_a_sentence(run: Callable[[], int]) -> int:
    """Run a launcher; what stands in its way is said in a sentence, never as a traceback.

    Whatever it writes, and whatever it starts writes, is for this user's eyes alone.
    """
    os.umask(0o077)
    try:
        return run()
    except StartError as error:
        print(f"\n{error}", file=sys.stderr, flush=True)
        return 1
    except OSError as error:  # a full disk, a folder that may not be written to
        where = f"{error.filename}: " if error.filename else ""
        print(f"\n{where}{error.strerror or error}. Nothing more was done.", file=sys.stderr, flush=True)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. The same command goes on from here.", file=sys.stderr, flush=True)
        return 130
