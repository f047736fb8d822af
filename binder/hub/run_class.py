"""Opens a class: asks for its words the first time, starts the hub, shows the wall.

``binder/open_class.py`` becomes this program once the environment is there.
"""

from __future__ import annotations

import contextlib
import getpass
import ipaddress
import math
import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request
import webbrowser
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(PROJECT / "binder"), str(PROJECT / "binder" / "hub")]

import psutil  # noqa: E402
from environment import (  # noqa: E402
    Environment,
    StartError,
    clean_variables,
    in_use,
    own_folder,
    say,
    stop_with_a_sentence,
)
from lay_out import COMPILED  # noqa: E402
from lesson_server import WARM_UP  # noqa: E402

from simulator.classroom import own_accounts, places  # noqa: E402
from simulator.classroom.capacity import carried, free_memory  # noqa: E402
from simulator.classroom.kept_sealed import OWN, SHARED  # noqa: E402
from simulator.classroom.people_and_pins import People  # noqa: E402
from simulator.classroom.record_desk import opened_records, place_of  # noqa: E402
from simulator.classroom.secret_words import (  # noqa: E402
    MIN_CLASS,
    MIN_TRAINER,
    WORDS_OF_A_CLASS,
    WORDS_OF_A_TRAINER,
    checked_class_word,
    checked_password,
    hashed,
    made_words,
)
from simulator.classroom.wall import wall_page  # noqa: E402
from simulator.errors import InputError  # noqa: E402
from simulator.fork_server.system import can_fork  # noqa: E402
from simulator.rig.command import TYPED, Words  # noqa: E402

LOOPBACK, FIRST_PORT = "127.0.0.1", 8000
PATIENCE = 120.0  # [s] until the hub answers
LOOK = 2.0  # [s] between two looks at what the hub has started
CLOSING = 60.0  # [s] for the hub to end with all that it has started; a slow machine with a full class may need more
ENDING = 20.0  # [s] for what it left behind
SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


def words_of(folder: Path, anew: bool) -> places.Settings:
    """The words of the class; where there are none yet they are asked for, or made where nobody can be asked."""
    kept = places.read_settings(folder)
    if kept is not None and not anew:
        return kept
    class_word = ask(
        f"Class word for the learners, at least {MIN_CLASS} letters (Enter: one is made)",
        False,
        checked_class_word,
    )
    password = ask(
        f"Your own password as trainer, at least {MIN_TRAINER} letters (Enter: one is made)",
        True,
        checked_password,
    )
    if not password:
        password = made_words(WORDS_OF_A_TRAINER)
        say(f"Your password as trainer. Write it down, it is shown this once:\n\n    {password}\n")
    settings = places.Settings(class_word or made_words(WORDS_OF_A_CLASS), hashed(password))
    places.keep_settings(folder, settings)
    return settings


def ask(question: str, hidden: bool, check: object) -> str:
    """An answer that will do, or nothing where somebody only presses Enter or nobody is there."""
    if not sys.stdin.isatty():
        return ""
    while True:
        answer = getpass.getpass(question + ": ") if hidden else input(question + ": ")
        if not answer.strip():
            return ""
        try:
            return check(answer)
        except InputError as error:
            say(str(error))


def checked_address(named: str, anywhere: bool = False) -> str:
    """An address of this machine; ``anywhere`` lets all of them at once pass.

    Raises
    ------
    StartError : it is no address, or none of this machine's.
    """
    try:
        found = ipaddress.ip_address(named)
        with socket.socket(socket.AF_INET6 if found.version == 6 else socket.AF_INET) as probe:
            probe.bind((named, 0))
    except (ValueError, OSError) as error:
        raise StartError(
            f"{named} is no address of this machine. Addresses look like 192.168.1.20; your network settings show this "
            f"machine's. Leave --address out to try the class on this machine alone."
        ) from error
    if found.is_unspecified and not anywhere:
        raise StartError("Name the one address at which learners reach this machine, such as 192.168.1.20.")
    return f"[{named}]" if found.version == 6 else named


def checked_public(url: str) -> str:
    """The address at which learners reach the class, with one slash at its end.

    Raises
    ------
    StartError : it is no such address.
    """
    found = urllib.parse.urlsplit(url)
    try:
        fits = found.scheme in ("http", "https") and bool(found.hostname) and (found.port or 1) > 0
    except ValueError:
        fits = False
    if not fits or found.path.strip("/") or found.query or found.fragment or found.username:
        raise StartError(
            f"{url} is no address that learners can open. It looks like https://class.example.org or "
            "http://192.168.1.20:8000, with nothing behind it."
        )
    return f"{found.scheme}://{found.netloc}/"


def port_at(address: str, asked: int | None) -> int:
    """The port asked for, else the first free one from 8000 on."""
    host = address.strip("[]")
    for port in [asked] if asked else range(FIRST_PORT, FIRST_PORT + 100):
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            with contextlib.suppress(OSError, OverflowError):
                probe.bind((host, port))
                return port
    raise StartError(
        f"Port {asked or FIRST_PORT} is not free. Choose another with --port, from 1024 to 65535."
    )


def free_ports(count: int) -> list[int]:
    """Ports on loopback that nobody uses now."""
    with contextlib.ExitStack() as held:
        found = [held.enter_context(contextlib.closing(socket.socket())) for _ in range(count)]
        for each in found:
            each.bind((LOOPBACK, 0))
        return [each.getsockname()[1] for each in found]


def checked_certificate(certificate: Path | None, key: Path | None) -> tuple[str, str]:
    """The files of a certificate and its key, which fit; two empty words where none is given.

    Raises
    ------
    StartError : one of the two is missing, or they do not fit.
    """
    if certificate is None and key is None:
        return "", ""
    if certificate is None or key is None:
        raise StartError("A certificate needs both files: --certificate FILE --key FILE.")
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password=lambda: "")
    except (OSError, ssl.SSLError, ValueError) as error:
        raise StartError(
            f"Certificate {certificate} and key {key} cannot be used: {error}. Both must be PEM files, the key without "
            "a password."
        ) from error
    return str(certificate.absolute()), str(key.absolute())


def answers(opened: places.Opened) -> bool:
    """Whether the front door opens."""
    trusting = ssl.create_default_context()
    trusting.check_hostname, trusting.verify_mode = (
        False,
        ssl.CERT_NONE,
    )  # our own door: only whether it opens
    direct = urllib.request.build_opener(
        urllib.request.ProxyHandler({}), urllib.request.HTTPSHandler(context=trusting)
    )
    try:
        door = opened.address.replace("//0.0.0.0:", "//127.0.0.1:").replace("//[::]:", "//[::1]:")
        with direct.open(f"{door}hub/login", timeout=3) as reply:
            return reply.status == 200
    except (OSError, urllib.error.URLError):
        return False


def importing(shared: Path) -> subprocess.Popen[bytes]:
    """Import the lessons and the model once for all, where kernels can be forked from that; else only warm the model up.

    On Linux the process stays: every learner's server gets a fork server forked from it at this address.
    """
    forks = ["-m", "simulator.fork_server.serve", "--listen", str(shared)]
    return subprocess.Popen(
        [sys.executable, *(forks if can_fork() else ["-c", WARM_UP])], cwd=shared.parent, stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip


def start(folder: Path, opened: places.Opened, shared: Path) -> subprocess.Popen[bytes]:
    """Start the hub and wait until its front door opens."""
    log = folder / "hub.log"
    config = Path(__file__).with_name("hub_config.py")
    variables = clean_variables(**{places.CLASS_FOLDER_VARIABLE: str(folder)})
    if can_fork():
        variables["SIMULATOR_FORK_SERVER"] = str(shared)
    if os.environ.get("PYTHONPATH"):
        variables["PYTHONPATH"] = os.environ["PYTHONPATH"]
    with log.open("wb") as record:
        hub = subprocess.Popen(
            [sys.executable, "-m", "jupyterhub", "--config", str(config)],
            cwd=folder, env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT,
            start_new_session=True,
        )  # fmt: skip
    try:
        late = time.monotonic() + PATIENCE
        while not answers(opened):
            if hub.poll() is not None or time.monotonic() > late:
                raise StartError(f"The class could not be opened. What the hub said is in {log}")
            time.sleep(0.2)
    except BaseException:
        close_undisturbed()
        end_class(hub, folder, set())
        raise
    return hub


def follow(
    hub: subprocess.Popen[bytes], started: set[psutil.Process], patience: float = math.inf
) -> int | None:
    """Wait until the hub ends, and note all the while what it has started: a dead one cannot be asked any more.

    Parameters
    ----------
    hub : that carries the class.
    started : what is known to run below it; changed in place.
    patience : how long to wait [s].

    Returns
    -------
    The code with which it ended; nothing where it still runs.
    """
    late = time.monotonic() + patience
    while True:
        started -= {each for each in started if not each.is_running()}
        with contextlib.suppress(psutil.Error):
            started.update(psutil.Process(hub.pid).children(recursive=True))
        try:
            return hub.wait(LOOK)
        except subprocess.TimeoutExpired:
            if time.monotonic() > late:
                return None


def end(program: subprocess.Popen[bytes]) -> None:
    """End a program of the class."""
    if program.poll() is None:
        program.terminate()
        try:
            program.wait(CLOSING)
        except subprocess.TimeoutExpired:
            program.kill()
            program.wait()


def end_class(hub: subprocess.Popen[bytes], folder: Path, started: set[psutil.Process]) -> None:
    """End the hub, all learners' servers with their kernels, and the door; also where the hub itself does not get to it.

    Parameters
    ----------
    hub : that carries the class.
    folder : of the class.
    started : what is known to run below it.
    """
    if hub.poll() is None:
        hub.terminate()
        if follow(hub, started, CLOSING) is None:
            hub.kill()
            hub.wait()
    for kill in (False, True):  # a server that is asked first ends its kernels itself
        left = {each for each in started if each.is_running()}
        for each in list(left):
            with contextlib.suppress(psutil.Error):
                left.update(each.children(recursive=True))
        below = {each.pid for each in left}
        for each in left:
            with contextlib.suppress(psutil.Error):
                if kill:
                    each.kill()
                elif each.ppid() not in below:
                    each.terminate()
        started |= left
        psutil.wait_procs(left, ENDING)
    shut_door(folder)


def shut_door(folder: Path) -> None:
    """End the proxy that a hub left behind which failed or was killed: it would keep the port."""
    try:
        door = psutil.Process(int((folder / "proxy.pid").read_text(encoding="ascii")))
        if any("configurable-http-proxy" in word for word in door.cmdline()):
            door.terminate()
            door.wait(10)
    except (OSError, ValueError, psutil.Error):
        return  # it went with its hub, as it should


def told(opened: places.Opened, class_word: str, folder: Path) -> None:
    """Say what the trainer needs to know."""
    say(f"The class is open at this address:\n\n    {opened.public}\n")
    say(f"Class word for the learners:\n\n    {class_word}\n")
    say(f"Your own page: {opened.public}hub/login?as=trainer")
    say(f"This machine carries {opened.most} learners at once.")
    host = opened.public.split("://")[1]
    if host.startswith(LOOPBACK):
        here = urllib.parse.urlsplit(opened.address).hostname == LOOPBACK
        say(
            "It can be reached from this machine alone. For a room: --address and this machine's address there."
            if here
            else "That address is right on this machine alone. For a room: --public and the address as learners type it."
        )
    say(
        "Each learner has an account of their own on this machine: sealed calls are sealed."
        if opened.accounts == OWN
        else "All pages run under one account: sealed calls are not sealed against somebody who writes code. As "
        "administrator of a Linux machine: --own-accounts."
    )
    if not opened.public.startswith("https:"):
        say(
            "There is no certificate: what is typed, class word and PINs too, can be read by others on the same "
            "network. With a certificate: --certificate FILE --key FILE."
        )
    say(f"What learners do is kept in {folder}")
    say("Leave this window open. To end the class: press Ctrl-C here.")


def part_learners() -> None:
    """Let learners' accounts read what their pages run from, and nothing that holds answers.

    Raises
    ------
    StartError : learners cannot have accounts of their own here, or cannot reach the project.
    """
    from simulator.marking.bank import bank_file  # here: only such a class needs the model so early

    reason = own_accounts.why_not()
    if reason:
        raise StartError(reason)
    environment, lessons = Path(sys.prefix).resolve(), PROJECT / "lessons"
    say("Opening the program to the learners' accounts, and shutting what holds answers ...")
    for each in {environment.parent, PROJECT}:
        own_accounts.let_enter(each)
    # what is read often: learners' accounts can keep nothing beside the program
    subprocess.run([sys.executable, "-m", "compileall", "-q", PROJECT / "simulator"], check=False)
    rigs = [lessons / "own_rigs"] if (lessons / "own_rigs").exists() else []
    own_accounts.open_to_all([environment, PROJECT / "simulator", PROJECT / "binder", *rigs])
    own_accounts.open_to_all([lessons / "scenarios"])
    for each in [lessons, *lessons.glob("*.ipynb")]:
        own_accounts.open_to_all([each]) if each.is_file() else own_accounts.let_enter(each)
    own_accounts.shut_to_others(
        [PROJECT / ".git", bank_file(), *(lessons / name for name in ("own_call_outs", "call_sheets"))]
    )
    python = Path(sys.executable).resolve()
    for needed in (PROJECT, environment, python):
        blocked = [each for each in needed.parents if not each.stat().st_mode & 0o001]
        if blocked:
            raise StartError(
                f"Learners' accounts cannot reach {needed}: {blocked[-1]} is shut to them. The project must lie where "
                f"all users of this machine can go, such as /opt/class, and be opened with a Python that all can start, "
                f"such as /usr/bin/python3."
            )


def hand_on_compiled() -> None:
    """Machine code that was made here, for learners to begin with."""
    from simulator.compiled import compiled_folder

    if (made := compiled_folder()) is None:
        return
    there = COMPILED / made.name
    if not there.exists():
        shutil.copytree(made, there)
    own_accounts.let_enter(COMPILED.parent)
    own_accounts.open_to_all([COMPILED])


def close_undisturbed() -> None:
    """What closes the class is not broken off by another Ctrl-C: it would leave behind what it has not come to yet."""
    for name in SIGNALS:
        signal.signal(getattr(signal, name), signal.SIG_IGN)


def interrupted(*_: object) -> None:
    close_undisturbed()
    raise KeyboardInterrupt


def main() -> int:
    parser = Words(prog=os.environ.get(TYPED) or "open_class.py", description="Open the lessons to a class.")
    parser.add_argument(
        "--address", default=LOOPBACK, help="of this machine in the room's network (else only here)"
    )
    parser.add_argument(
        "--public",
        metavar="URL",
        help="address as learners type it, where it is another one (a container, a server in front); --address may "
        "then be 0.0.0.0",
    )
    parser.add_argument("--port", type=int, help="the port to serve on (else the first free one from 8000)")
    parser.add_argument(
        "--certificate", type=Path, metavar="FILE", help="certificate for encrypted pages (PEM)"
    )
    parser.add_argument("--key", type=Path, metavar="FILE", help="the certificate's key (PEM)")
    parser.add_argument("--new-words", action="store_true", help="another class word and trainer's password")
    parser.add_argument(
        "--own-accounts",
        action="store_true",
        help="each learner's pages run under an account of their own on this machine (Linux, as its administrator): "
        "calls in shut envelopes are then sealed",
    )
    parser.add_argument("--no-browser", action="store_true", help="do not open the page for the wall")
    options = parser.parse_args()
    # Ctrl-C as well: a script's background ignores it, and so would all that is started here; the hub ends its
    # programs by it, and waits ten seconds for each that does not heed
    for name in SIGNALS:
        signal.signal(getattr(signal, name), interrupted)

    if options.own_accounts:
        part_learners()
    folder = own_folder(places.class_folder())
    address = checked_address(options.address, anywhere=bool(options.public))
    public = checked_public(options.public) if options.public else ""
    certificate, key = checked_certificate(options.certificate, options.key)
    People(folder)  # a damaged list is said before anybody comes
    with opened_records(place_of(folder)) as records:  # and so are records that cannot be used
        for notice in records.notices:
            say(notice)
        where = records.name
    settings = words_of(folder, options.new_words)
    ports = free_ports(4)
    door = f"{'https' if certificate else 'http'}://{address}:{port_at(address, options.port)}/"
    opened = places.Opened(
        door, public or door, *ports, certificate, key, str(PROJECT),
        carried(free_memory(), own_accounts=options.own_accounts, forked=can_fork()),
        OWN if options.own_accounts else SHARED,
    )  # fmt: skip
    places.keep_opened(folder, opened)
    say("Opening the class ...")
    private = Path(
        tempfile.mkdtemp(prefix="class-")
    )  # for its owner alone; the address of a socket must be short
    shared = private / "fork-server"
    warming = importing(shared)
    hub, wall = None, folder / "wall.html"
    started: set[psutil.Process] = set()
    try:
        hub = start(folder, opened, shared)
        said = False
        while warming.poll() is None and not shared.exists():
            if not said:
                say("Getting the model ready (once, about half a minute) ...")
            said = True
            time.sleep(0.2)
        if options.own_accounts:
            hand_on_compiled()
        told(opened, settings.class_word, folder)
        say(f"The records of the class: {where}")
        wall.touch(mode=0o600)
        page = wall_page(opened.public, settings.class_word, opened.public.startswith("https:"))
        wall.write_text(page, encoding="utf-8")
        say(f"The page for the wall: {wall}")
        if not options.no_browser and not webbrowser.open(wall.as_uri()):
            say("No browser could be started from here: open it yourself.")
        code = follow(hub, started)
    except KeyboardInterrupt:
        with contextlib.suppress(OSError):  # its window may be gone
            say("\nClosing the class. What everybody did is kept. This may take a minute.")
        return 0
    finally:
        close_undisturbed()
        if hub is not None:
            end_class(hub, folder, started)
        end(warming)
        shutil.rmtree(private, ignore_errors=True)
        wall.unlink(missing_ok=True)
        if hub is not None:
            with contextlib.suppress(OSError):
                say("The class is closed.")
    raise StartError(f"The hub ended by itself (code {code}). What it said is in {folder / 'hub.log'}")


def sentences() -> int:
    """The same, with what cannot be used as a sentence."""
    try:
        with in_use(Environment(Path(sys.prefix))):
            return main()
    except InputError as error:
        raise StartError(str(error)) from error


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(sentences))
