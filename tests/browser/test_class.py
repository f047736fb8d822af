"""A class opened by the real command: two learners and the trainer from three browsers, each with their own."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import psutil
import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.classroom.line import Line, Refused
from simulator.records import Store
from simulator.records.hand_over import standing
from simulator.texts import text
from tests.browser.axe import grave_findings
from tests.browser.conftest import free_port, shoot, wait_ready

PROJECT = Path(__file__).parents[2]
READY = 240  # [s] for the hub and for a learner's page, on a busy machine

pytestmark = [
    pytest.mark.full,
    pytest.mark.skipif(os.name == "nt", reason="the hub does not run on Windows"),
]


@dataclass
class Room:
    """An open class."""

    address: str
    folder: Path
    class_word: str
    password: str
    process: int


@pytest.fixture(scope="module")
def room(chromium_path: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    folder = tmp_path_factory.mktemp("a class")
    port, said = free_port(), folder / "said.txt"
    variables = os.environ | {
        "SIMULATOR_CLASS_DIR": str(folder / "class"),
        "PYTHONPATH": str(PROJECT),
        "PYTHONUNBUFFERED": "1",
        "SIMULATOR_KEY_DIR": str(folder / "keys"),
    }
    with said.open("wb") as record:
        run = subprocess.Popen(
            [sys.executable, PROJECT / "binder" / "hub" / "run_class.py", "--no-browser", "--port", str(port)],
            env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT,
        )  # fmt: skip
    try:
        late = time.monotonic() + READY
        while "The page for the wall" not in said.read_text():
            assert run.poll() is None, said.read_text()
            assert time.monotonic() < late, said.read_text()
            time.sleep(0.3)
        words = said.read_text()
        password = re.search(r"shown this once:\s+(\S+)", words)
        assert password
        settings = json.loads((folder / "class" / "class.json").read_text())
        assert settings["class_word"] in words
        yield Room(f"http://127.0.0.1:{port}", folder / "class", settings["class_word"], password[1], run.pid)
    finally:
        children = psutil.Process(run.pid).children(recursive=True) if run.poll() is None else []
        run.send_signal(signal.SIGINT)
        run.wait(90)
        _, left = psutil.wait_procs(children, timeout=30)
        for each in left:
            each.kill()
    assert run.returncode == 0
    assert "What everybody did is kept" in said.read_text()
    assert left == []  # the class leaves nothing running behind


@pytest.fixture
def visit(browser: Browser, room: Room) -> Iterator[object]:
    """Opens the front door in a browser of its own."""
    contexts = []

    def come(path: str = "/", scheme: str = "light", size: tuple[int, int] = (1366, 768)) -> Page:
        contexts.append(
            browser.new_context(
                color_scheme=scheme, viewport={"width": size[0], "height": size[1]}, reduced_motion="reduce"
            )
        )
        page = contexts[-1].new_page()
        page.set_default_timeout(60_000)
        page.goto(room.address + path)
        return page

    yield come
    for context in contexts:
        context.close()


def knock(page: Page, name: str, word: str, pin: str, again: str = "") -> None:
    """Type all fields of the door and press its button."""
    for field, value in (("name", name), ("word", word), ("pin", pin), ("again", again)):
        page.locator(f"#{field}").fill(value)
    page.get_by_role("button", name="Come in").click()


def service_address(room: Room) -> str:
    port = json.loads((room.folder / "opened.json").read_text())["service_port"]
    return f"http://127.0.0.1:{port}/services/class"


def answer(question: str) -> dict[str, object]:
    return {"kind": "answer", "question": question, "answer": True, "click": question}


def be_trainer(page: Page, room: Room) -> None:
    page.get_by_role("link", name="I am the trainer").click()
    page.get_by_label("Password").fill(room.password)
    page.get_by_role("button", name="Come in").click()
    expect(page.get_by_role("heading", name="Your class")).to_be_visible()


def test_two_learners_and_the_trainer(room: Room, visit) -> None:
    ada, bo = visit(), visit(scheme="dark")
    knock(ada, "Ada Quill", "not the word", "4711", "4711")
    expect(ada.locator("#refusal")).to_contain_text("not the class word")
    knock(ada, "Ada Quill", room.class_word, "4711", "4711")
    knock(bo, "Bo Marsh", room.class_word.upper(), "2580", "2580")
    for page, account in ((ada, "learner-1"), (bo, "learner-2")):
        page.wait_for_url(f"**/user/{account}/doc/tree/lessons/00_*", timeout=READY * 1000)
        wait_ready(page, timeout=READY)
    expect(ada.locator("body")).to_contain_text("Ada Quill")
    expect(bo.locator("body")).not_to_contain_text("Ada Quill")
    assert ada.get_by_label("Your name").count() == 0  # it was given at the door

    # each in a folder of their own, and no way into the other's
    for account, other in (("learner-1", "learner-2"), ("learner-2", "learner-1")):
        assert (room.folder / "learners" / account / "records").is_dir()
        page = ada if account == "learner-1" else bo
        for path in ("api/contents/lessons", "api/kernels", "doc/tree/lessons/00_start_here.ipynb"):
            assert page.request.get(f"{room.address}/user/{other}/{path}").status == 403
        assert page.request.get(f"{room.address}/hub/class").status == 403
        assert page.request.get(f"{room.address}/hub/api/users").status == 403
    kernels = [page.request.get(f"{room.address}/user/{name}/api/kernels").json()
               for page, name in ((ada, "learner-1"), (bo, "learner-2"))]  # fmt: skip
    assert len(kernels[0]) == len(kernels[1]) == 1
    assert kernels[0][0]["id"] != kernels[1][0]["id"]

    # what one does is in one's own records alone
    ada.get_by_role("button", name=text("lessons.home.safety_button")).click()
    late = time.monotonic() + 30
    while not (room.folder / "learners" / "learner-1" / "records" / "records.sqlite3").exists():
        assert time.monotonic() < late
        time.sleep(0.2)
    files = {path: path.stat().st_mode & 0o077 for path in room.folder.rglob("*") if path.is_file()}
    assert [str(path) for path, others in files.items() if others] == []

    # what they do is handed in to the class, each by the token of their own server
    children = psutil.Process(room.process).children(recursive=True)
    tokens = {each.environ().get("JUPYTERHUB_USER"): each.environ()["JUPYTERHUB_API_TOKEN"]
              for each in children if "singleuser" in " ".join(each.cmdline())}  # fmt: skip
    (service,) = [each for each in children if "simulator.classroom.service" in each.cmdline()]
    to = {name: Line(service_address(room), tokens[name], "records") for name in ("learner-1", "learner-2")}
    handed_over, kept_here = (text(f"classroom.records.{key}") for key in ("handed_over", "kept_here"))
    expect(ada.locator("body")).to_contain_text(handed_over)
    late = time.monotonic() + 30  # the line also says so before there is anything to hand over
    while not to["learner-1"].ask("GET", "records")["heads"]:
        assert time.monotonic() < late
        time.sleep(0.5)
    (mine,) = to["learner-1"].ask("GET", "records")["heads"]
    assert to["learner-2"].ask("GET", "records")["heads"] == {}
    for path in (f"records/{mine}", "records?of=learner-1"):
        with pytest.raises(Refused):
            to["learner-2"].ask("GET", path)
    whole = to["learner-1"].ask("GET", f"records/{mine}")
    said = to["learner-2"].ask("POST", "records", json.dumps({"attempts": [whole]}))
    assert list(said["refused"]) == [mine]

    # the service is killed: the page goes on and says so, the hub starts the service again, and all is handed over
    service.kill()
    with Store.open(room.folder / "learners" / "learner-1" / "records") as store:
        store.append_event(mine, len(store.events(mine)), answer("seen:the door"), "the door")
        expect(ada.locator("body")).to_contain_text(kept_here)
        expect(ada.locator("body")).to_contain_text(handed_over, timeout=READY * 1000)
        assert to["learner-1"].ask("GET", "records")["heads"] == {
            key: list(head) for key, head in standing(store, "Ada Quill").heads.items()
        }

    # secrets stand in no command line and no address
    children = psutil.Process(room.process).children(recursive=True)
    lines = [" ".join(each.cmdline()) for each in children]
    assert len(lines) > 4
    for secret in (room.class_word, room.password, "4711", "2580"):
        assert not [line for line in lines if secret in line.split()]
    for secret in (room.class_word, room.password):
        assert secret not in (room.folder / "hub.log").read_text()

    # a name opens with its own PIN only, and the trainer resets it
    other = visit()
    knock(other, "Ada Quill", room.class_word, "2580", "2580")
    expect(other.locator("#refusal")).to_contain_text("not the PIN of this name")
    trainer = visit()
    be_trainer(trainer, room)
    expect(trainer.locator("tbody tr")).to_have_count(2)
    expect(trainer.locator("main")).to_contain_text("Pages open: 2")
    trainer.get_by_role("button", name="Reset the PIN of Ada Quill").click()
    expect(trainer.locator("#said")).to_contain_text("Ada Quill is reset")
    knock(other, "Ada Quill", room.class_word, "97531", "97531")
    other.wait_for_url("**/user/learner-1/doc/tree/**", timeout=READY * 1000)
    with trainer.expect_popup() as opened:
        trainer.get_by_role("link", name="Page for the wall").click()
    wall = opened.value
    expect(wall.locator("#class-word")).to_have_text(room.class_word)
    expect(wall.locator("#address")).to_have_text(room.address)
    assert wall.locator("svg.square").bounding_box()["height"] > 200
    trainer.get_by_role("button", name="End the page of Bo Marsh").click()
    expect(trainer.locator("#said")).to_contain_text("Bo Marsh is ended")
    bo.goto(f"{room.address}/user/learner-2/doc/tree/lessons/00_start_here.ipynb")
    expect(bo.get_by_role("link", name="Open the lessons again")).to_be_visible()

    # the trainer's own page has the desks
    trainer.get_by_role("link", name="Open the lessons and desks").click()
    trainer.wait_for_url("**/user/trainer/doc/tree/**", timeout=READY * 1000)
    wait_ready(trainer, timeout=READY)
    trainer.get_by_role("link", name="Make a call sheet").click()
    wait_ready(trainer, timeout=READY)
    trainer.get_by_label("Your name, as learners read it").fill("R. Ferrow")
    trainer.get_by_role("button", name="Keep my name").click()
    expect(trainer.get_by_role("button", name="Keep my name")).to_have_count(0)
    trainer.locator('[data-block="book"] tbody tr').first.get_by_role("button", name="Add").click()
    expect(trainer.locator('[data-block="list"] tbody tr')).to_have_count(1)
    expect(trainer.locator('[data-block="not_sealed"]')).to_contain_text(
        "not sealed against somebody who writes code"
    )
    trainer.get_by_role("button", name="Hand out").click()
    expect(trainer.locator('[data-block="given"]')).to_contain_text("Calls of the day")
    other.reload()
    wait_ready(other, timeout=READY)
    expect(other.locator("body")).to_contain_text("Your calls for today: Calls of the day")


def test_the_board_the_copy_and_a_person_removed(room: Room, visit) -> None:
    dee = visit()
    knock(dee, "Dee Fenn", room.class_word, "8642", "8642")
    dee.wait_for_url("**/user/learner-*/doc/tree/lessons/00_*", timeout=READY * 1000)
    account = re.search(r"/user/(learner-\d+)/", dee.url)[1]
    wait_ready(dee, timeout=READY)
    dee.get_by_role("button", name=text("lessons.home.safety_button")).click()
    trainer = visit()
    be_trainer(trainer, room)
    trainer.get_by_role("link", name="Open the lessons and desks").click()
    trainer.wait_for_url("**/user/trainer/doc/tree/**", timeout=READY * 1000)
    wait_ready(trainer, timeout=READY)
    trainer.get_by_role("link", name=text("class_board.link")).click()
    wait_ready(trainer, timeout=READY)
    row = trainer.locator('[data-block="people"] tbody tr').filter(has_text="Dee Fenn")
    expect(row).to_contain_text(text("class_board.state.working"), timeout=READY * 1000)
    expect(row).to_contain_text(text("class_board.other"))
    shoot(trainer, "class-board")
    assert grave_findings(trainer) == []
    held = dee.locator("#class-held")
    trainer.get_by_role("button", name=text("class_board.hold.all")).click()
    expect(held).to_contain_text(text("classroom.held.text"))
    assert grave_findings(dee) == []
    for _ in range(2):
        dee.keyboard.press("Escape")
    expect(held).to_be_visible()
    trainer.get_by_role("button", name=text("class_board.hold.go_on")).click()
    expect(held).to_have_count(0)
    trainer.get_by_role("link", name=text("after_class.link")).click()
    wait_ready(trainer, timeout=READY)
    trainer.get_by_role("button", name=text("after_class.keep.backup"), exact=True).click()
    expect(trainer.locator("body")).to_contain_text("The copy lies in")
    (copy,) = (room.folder / "backups").glob("class-*")
    assert {path.name for path in copy.iterdir()} >= {"records.sqlite3", "people.json", "class.json"}
    expect(trainer.locator('[data-block="remove_there"]')).to_be_visible()

    # the board is for the trainer alone
    children = psutil.Process(room.process).children(recursive=True)
    (token,) = {each.environ()["JUPYTERHUB_API_TOKEN"] for each in children
                if each.environ().get("JUPYTERHUB_USER") == account}  # fmt: skip
    with pytest.raises(Refused):
        Line(service_address(room), token, "class").ask("GET", "class")

    # removed: the wrong name does nothing, the right one takes records, folder, PIN and page
    trainer.goto(f"{room.address}/hub/class")
    trainer.get_by_role("link", name="Remove Dee Fenn").click()
    assert grave_findings(trainer, "main") == []
    trainer.get_by_label(text("classroom.room.remove_label")).fill("dee")
    trainer.get_by_role("button", name=text("classroom.room.remove_sure")).click()
    expect(trainer.locator("#refusal")).to_contain_text(text("classroom.room.remove_not"))
    shoot(trainer, "class-remove")
    trainer.get_by_label(text("classroom.room.remove_label")).fill("Dee Fenn")
    trainer.get_by_role("button", name=text("classroom.room.remove_sure")).click()
    expect(trainer.locator("#said")).to_contain_text("One person is removed", timeout=READY * 1000)
    expect(trainer.locator("#said")).to_contain_text(copy.name)  # which still holds the name
    expect(trainer.locator("main")).not_to_contain_text("Dee Fenn")
    assert not (room.folder / "learners" / account).exists()
    left = [path for path in room.folder.rglob("*")
            if path.is_file() and "backups" not in path.parts and b"Dee Fenn" in path.read_bytes()]  # fmt: skip
    assert left == []
    assert account in (room.folder / "taken_out.txt").read_text()
    dee.reload()
    expect(dee.get_by_label("Class word")).to_be_visible(timeout=READY * 1000)  # logged out
    knock(dee, "Dee Fenn", room.class_word, "1357", "1357")
    number = int(account.rpartition("-")[2])  # another account, with nothing of the old one, nor its page
    dee.wait_for_url(f"**/user/learner-{number + 1}/doc/tree/lessons/00_*", timeout=READY * 1000)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080), (390, 844)])
def test_the_pages_of_a_class_are_open_to_all(room: Room, visit, scheme: str, size: tuple[int, int]) -> None:
    page = visit("/hub/login", scheme, size)
    assert grave_findings(page, "main") == []
    page.keyboard.press("Tab")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    be_trainer(page, room)
    assert grave_findings(page, "main") == []
    page.goto(f"{room.address}/hub/class/wall")
    assert grave_findings(page, "main") == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_ten_wrong_words_wait(room: Room, visit) -> None:
    page = visit()
    for _ in range(10):
        knock(page, "Cy Dale", "guess", "1234", "1234")
        expect(page.locator("#refusal")).to_contain_text("not the class word")
    expect(page.locator("#refusal")).to_contain_text("too many wrong words")
    knock(page, "Cy Dale", room.class_word, "1234", "1234")
    expect(page.locator("#refusal")).to_contain_text("too many wrong words")
    kept = room.folder / "people.json"  # which is not there before the first comes
    assert "Cy Dale" not in (kept.read_text(encoding="utf-8") if kept.exists() else "")
