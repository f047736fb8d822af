"""What a learner's server is given, what the wall shows, what a machine carries, and how a command's words are judged."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import socket
import stat
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import psutil
import pytest

from simulator.classroom import pages, places
from simulator.classroom.capacity import EACH, SPARE, carried, left_of_share
from simulator.classroom.handing_out import FILE_NAME as SHEETS
from simulator.classroom.people_and_pins import FILE_NAME, TAKEN_OUT, Person
from simulator.classroom.wall import square, wall_page
from simulator.panels.lessons.registry import DESKS, LESSONS
from simulator.texts import text
from tests.records.postgres_server import free_port

PROJECT = Path(__file__).parents[2]
sys.path.insert(0, str(PROJECT / "binder"))
sys.path.insert(0, str(PROJECT / "binder" / "hub"))

import run_class  # noqa: E402
from environment import StartError  # noqa: E402

NOTEBOOKS = [each.notebook for each in LESSONS.values()]


def test_a_learners_folder_holds_the_lessons_and_no_desk(tmp_path: Path) -> None:
    root = places.lay_out(tmp_path / "learner-1", PROJECT / "lessons", NOTEBOOKS)
    there = sorted(path.name for path in (root / "lessons").iterdir())
    assert there == sorted(NOTEBOOKS)
    assert not {each.notebook for each in DESKS.values()} & set(there)
    for name in there:
        assert (root / "lessons" / name).read_bytes() == (PROJECT / "lessons" / name).read_bytes()
        assert stat.S_IMODE((root / "lessons" / name).stat().st_mode) == 0o400
    assert stat.S_IMODE(root.stat().st_mode) & 0o077 == 0


def test_laid_out_again_what_is_the_learners_own_stays(tmp_path: Path) -> None:
    lessons = tmp_path / "lessons"
    lessons.mkdir()
    for name in ("00_a.ipynb", "01_b.ipynb"):
        (lessons / name).write_text("first")
    root = places.lay_out(tmp_path / "own", lessons, ["00_a.ipynb", "01_b.ipynb"])
    (root / "lessons" / "mine.ipynb").write_text("mine")
    (root / "records").mkdir()
    (lessons / "00_a.ipynb").write_text("second")
    places.lay_out(tmp_path / "own", lessons, ["00_a.ipynb"])
    assert (root / "lessons" / "00_a.ipynb").read_text() == "second"
    assert (root / "lessons" / "mine.ipynb").read_text() == "mine"
    assert not (root / "lessons" / "01_b.ipynb").exists()
    assert (root / "records").is_dir()


def test_a_learners_variables_name_the_learner_and_folders_of_their_own(tmp_path: Path) -> None:
    told = places.variables_of(tmp_path / "learner-1", "Ada Quill")
    assert told["SIMULATOR_LEARNER"] == "Ada Quill"
    folders = [value for key, value in told.items() if key.endswith("_DIR")]
    assert all(Path(value).is_relative_to(tmp_path / "learner-1") for value in folders)


def test_how_many_a_machine_carries() -> None:
    assert carried(SPARE + 30 * EACH) == 30
    assert carried(0.0) == 1


def test_the_wall_shows_address_and_word_and_the_square_holds_the_address_alone() -> None:
    page = wall_page("http://10.0.0.5:8000/", "<b>word</b>", False)
    assert "&lt;b&gt;word&lt;/b&gt;" in page
    assert "http://10.0.0.5:8000" in page
    assert "not encrypted" in page
    assert "not encrypted" not in wall_page("https://10.0.0.5:8000/", "word", True)
    assert not re.search(r"<script|\bon\w+=|url\(|src=", page)
    assert square("http://10.0.0.5:8000/") in page


def test_an_address_is_one_of_this_machine() -> None:
    assert run_class.checked_address("127.0.0.1") == "127.0.0.1"
    for wrong in ("192.0.2.1", "room", "", "127.0.0.1:8000"):  # RFC 5737: an address of nobody
        with pytest.raises(StartError, match="no address of this machine"):
            run_class.checked_address(wrong)
    with pytest.raises(StartError, match="Name the one address"):
        run_class.checked_address("0.0.0.0")


def test_a_container_listens_everywhere_and_says_how_it_is_reached() -> None:
    assert run_class.checked_address("0.0.0.0", anywhere=True) == "0.0.0.0"
    for good in ("https://class.example.org", "http://192.0.2.7:8000/", "http://[2001:db8::1]:8000"):
        assert run_class.checked_public(good) == good.rstrip("/") + "/"
    for wrong in (
        "class.example.org",
        "ftp://class.example.org",
        "http://",
        "http://x/y",
        "http://a:b@x",
        "http://x:99999",
    ):
        with pytest.raises(StartError, match="no address that learners can open"):
            run_class.checked_public(wrong)


def test_a_container_carries_what_its_share_carries(tmp_path: Path) -> None:
    (tmp_path / "memory.current").write_text("2000000000\n")
    (tmp_path / "memory.max").write_text("8000000000\n")
    assert left_of_share(tmp_path) == 6e9
    (tmp_path / "memory.max").write_text("max\n")
    assert left_of_share(tmp_path) == float("inf")
    assert left_of_share(tmp_path / "none") == float("inf")


def test_the_image_does_what_can_be_done_by_hand() -> None:
    """Every step is one of the project's own commands, nothing runs as root, and what must last lies in the volume."""
    lines = (PROJECT / "binder" / "hub" / "Containerfile").read_text(encoding="utf-8").splitlines()
    steps = [line for line in lines if line and not line.startswith("#")]
    assert next(step for step in steps if step.startswith("USER")) == "USER class"
    after = steps[steps.index("USER class") :]
    runs = [step.removeprefix("RUN ").split() for step in after if step.startswith("RUN")]
    assert [run[:2] for run in runs] == [["python3", "binder/open_class.py"]] * 2
    said = " ".join(steps)
    for variable in ("SIMULATOR_CLASS_DIR", "SIMULATOR_KEY_DIR", "SIMULATOR_CALLS_DIR", "SIMULATOR_RIGS_DIR"):
        assert f"{variable}=/data" in said
    page = (PROJECT / "binder" / "hub" / "README.md").read_text(encoding="utf-8")
    for told in (
        places.SETTINGS,
        FILE_NAME,
        SHEETS,
        TAKEN_OUT,
        "backup-class",
        "restore-class",
        "--public",
        "pg_dump",
    ):
        assert told in page


def test_a_port_that_is_taken_is_said() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(StartError, match="is not free"):
            run_class.port_at("127.0.0.1", taken.getsockname()[1])
    assert run_class.port_at("127.0.0.1", None) >= run_class.FIRST_PORT


def test_a_certificate_needs_its_key_and_must_fit(tmp_path: Path) -> None:
    assert run_class.checked_certificate(None, None) == ("", "")
    with pytest.raises(StartError, match="needs both files"):
        run_class.checked_certificate(tmp_path / "c.pem", None)
    (tmp_path / "c.pem").write_text("nothing")
    with pytest.raises(StartError, match="cannot be used"):
        run_class.checked_certificate(tmp_path / "c.pem", tmp_path / "k.pem")


@pytest.mark.full
@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--address", "192.0.2.1"], "no address of this machine"),
        (["--certificate", "c.pem"], "needs both files"),
    ],
)
def test_a_mistake_on_the_command_line_is_a_sentence(tmp_path: Path, words: list[str], sentence: str) -> None:
    variables = os.environ | {"SIMULATOR_CLASS_DIR": str(tmp_path / "class"), "PYTHONPATH": str(PROJECT)}
    told = subprocess.run(
        [sys.executable, PROJECT / "binder" / "hub" / "run_class.py", *words],
        env=variables, capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    assert told.returncode == 1
    assert sentence in told.stderr
    assert "Traceback" not in told.stderr
    assert not (tmp_path / "class" / places.SETTINGS).exists()


def opened_class(folder: Path, *words: str) -> subprocess.Popen[str]:
    """A class that is opened, with nobody in it; what is put into ``folder`` is found by its programs."""
    variables = os.environ | {
        "SIMULATOR_CLASS_DIR": str(folder / "class"),
        "SIMULATOR_KEY_DIR": str(folder / "keys"),
        "PYTHONPATH": os.pathsep.join((str(folder), str(PROJECT))),
        "PYTHONUNBUFFERED": "1",
    }
    return subprocess.Popen(
        [sys.executable, PROJECT / "binder" / "hub" / "run_class.py", "--no-browser", *words],
        env=variables, text=True, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip


def said_until(run: subprocess.Popen[str], words: str) -> str:
    assert run.stdout is not None
    said = ""
    for line in run.stdout:
        said += line
        if words in line:
            return said
    raise AssertionError(said)


@pytest.mark.full
def test_a_class_opens_where_the_machines_own_name_is_unknown(tmp_path: Path) -> None:
    """As in a container: it listens on all addresses, and no name service knows what the machine calls itself."""
    (tmp_path / "sitecustomize.py").write_text(
        "import socket\nsocket.gethostname = lambda: 'nobody.invalid'\n"
    )
    port = str(free_port())
    with opened_class(
        tmp_path, "--address", "0.0.0.0", "--port", port, "--public", "http://127.0.0.1:1"
    ) as run:
        said_until(run, "The page for the wall")
        run.send_signal(signal.SIGINT)
        run.communicate(timeout=90)
    assert run.returncode == 0


@pytest.mark.full
def test_a_hub_that_was_killed_leaves_nothing_that_keeps_the_port(tmp_path: Path) -> None:
    port = str(free_port())
    with opened_class(tmp_path, "--port", port) as run:
        said_until(run, "The page for the wall")
        children = psutil.Process(run.pid).children(recursive=True)
        next(each for each in children if "jupyterhub" in each.cmdline()).kill()
        assert "The hub ended by itself" in said_until(run, "ended by itself")
    assert run.returncode == 1
    with opened_class(tmp_path, "--port", port) as run:
        said_until(run, "The page for the wall")
        run.send_signal(signal.SIGINT)
        run.send_signal(signal.SIGTERM)  # pressed twice: it closes once
        said, _ = run.communicate(timeout=90)
    assert run.returncode == 0
    assert said.rstrip().endswith("The class is closed.")
    _, left = psutil.wait_procs(children, timeout=30)
    assert left == []


STUBBORN = """
import signal, subprocess, sys, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
below = int(sys.argv[1])
if below:
    subprocess.Popen([sys.executable, "-c", sys.argv[2], str(below - 1), sys.argv[2]], start_new_session=True)
print(below, flush=True)
time.sleep(120)
"""


@pytest.mark.parametrize("killed", [False, True])
def test_what_a_hub_leaves_behind_is_ended_with_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, killed: bool
) -> None:
    """A hub that does not end in time, or is gone already; servers and kernels below it, in sessions of their own."""
    for patience in ("LOOK", "CLOSING", "ENDING"):
        monkeypatch.setattr(run_class, patience, 0.3)
    words = [sys.executable, "-c", STUBBORN, "2", STUBBORN]
    with subprocess.Popen(words, stdout=subprocess.PIPE, start_new_session=True) as hub:
        assert hub.stdout is not None
        assert {hub.stdout.readline() for _ in range(3)} == {b"0\n", b"1\n", b"2\n"}
        started: set[psutil.Process] = set()
        assert run_class.follow(hub, started, 0.0) is None
        below = sorted(started, key=lambda each: each.pid)
        assert len(below) == 2
        if killed:
            hub.kill()
            hub.wait()
        run_class.end_class(hub, tmp_path, started)
        assert hub.poll() is not None
    _, left = psutil.wait_procs(below, timeout=30)
    assert left == []


def test_who_is_removed_is_told_with_all_records_that_went(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The records are asked for twice: the page may have handed something in while it was ended."""
    person = Person("learner-1", "Ash", "", "2030-01-01T08:00:00+00:00")
    answers, removed = [{"attempts": 2}, {"attempts": 1}], []
    monkeypatch.setattr(pages.Line, "ask", lambda *_: answers.pop(0))
    monkeypatch.setenv("SIMULATOR_CLASS_DIR", str(tmp_path))
    (tmp_path / "learners" / person.account).mkdir(parents=True)
    room = SimpleNamespace(
        find_user=lambda _: None,
        _end=lambda _: asyncio.sleep(0),  # no page of theirs is open
        settings={"class_service": ("http://127.0.0.1:9", "token")},
        authenticator=SimpleNamespace(door=SimpleNamespace(remove=removed.append)),
    )
    said = asyncio.run(pages.RoomHandler._remove(room, person))
    assert said == text("classroom.room.removed", n=3)
    assert removed == [person.account]
    assert not (tmp_path / "learners" / person.account).exists()
