"""The two commands: what they say when something stands in the way, and how they look after their environment."""

from __future__ import annotations

import ast
import hashlib
import json
import os
import re
import subprocess
import sys
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.conftest import thin

LAUNCHERS = ["open_lessons.py", "open_class.py", "run_tests.py", "make_locks.py"]
FILES = [*LAUNCHERS, "environment.py", "lesson_server.py"]
PROJECT = Path(__file__).parents[2]
BINDER = PROJECT / "binder"
sys.path.insert(0, str(BINDER))

import environment  # noqa: E402
import lesson_server  # noqa: E402
import make_data  # noqa: E402
import make_locks  # noqa: E402
import open_class  # noqa: E402
import open_lessons  # noqa: E402
import run_tests  # noqa: E402


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small project of its own, with a lock that asks for nothing, in a folder with a space in its name."""
    folder = tmp_path / "a project"
    (folder / "simulator").mkdir(parents=True)
    (folder / "simulator" / "__init__.py").write_text("")
    for name in ("run", "class", "test"):
        (folder / f"{name}.txt").write_text(f"# {name}\n")
        monkeypatch.setitem(environment.LOCKS, name, folder / f"{name}.txt")
    monkeypatch.setattr(environment, "PROJECT", folder)
    monkeypatch.setattr(environment, "HOME", folder / ".lessons-environment")
    monkeypatch.setattr(environment, "ROOM_NEEDED", 1)
    return folder


def test_plain_data_are_made_by_any_python_that_has_the_packages(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert make_data.ready(["simulator.scenario.publish"]) == sys.executable
    monkeypatch.setattr(make_data, "HOME", tmp_path)
    assert make_data.ready(["simulator.hat"]) is None
    modules = {step[0] for name in make_data.PLAIN for step in make_data.STEPS[name]}
    assert modules.isdisjoint({make_data.SETS[0], make_data.MINUTES[0]})


def test_numpy_has_one_thread_unless_the_caller_says_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(environment.ALGEBRA, raising=False)
    assert environment.clean_variables()[environment.ALGEBRA] == "1"
    monkeypatch.setenv(environment.ALGEBRA, "4")
    assert environment.clean_variables()[environment.ALGEBRA] == "4"


class Installer:
    """Stands where pip would be called: records the calls and lays down what pip would."""

    def __init__(self, project: Path) -> None:
        self.project, self.calls, self.looked_over = project, [], 0

    def leave_out(self, folder: Path, log: Path) -> None:
        self.looked_over += 1

    def __call__(
        self, folder: Path, log: Path, say: environment.Say, *arguments: str, count: int = 0
    ) -> None:
        self.calls.append(arguments)
        site = next(folder.glob("[Ll]ib/**/site-packages"))
        (site / f"package{len(self.calls)}-1.0.dist-info").mkdir()
        if "-e" in arguments:
            (site / "project.pth").write_text(str(self.project))


@pytest.fixture
def installer(project: Path, monkeypatch: pytest.MonkeyPatch) -> Installer:
    installing = Installer(project)
    monkeypatch.setattr(environment, "install", installing)
    monkeypatch.setattr(environment, "leave_out", installing.leave_out)
    monkeypatch.setattr(
        environment, "make_empty", lambda folder, log: venv.create(folder, symlinks=sys.platform != "win32")
    )
    return installing


def test_a_second_start_installs_nothing(installer: Installer) -> None:
    first = environment.ensure("run", say=lambda _: None)
    assert len(installer.calls) == 2
    assert installer.looked_over == 1
    assert environment.ensure("run", say=lambda _: None) == first
    assert len(installer.calls) == 2


def test_tests_add_to_the_same_environment(installer: Installer) -> None:
    first = environment.ensure("run", say=lambda _: None)
    assert environment.ensure("test", say=lambda _: None) == first
    assert len(installer.calls) == 3
    environment.ensure("run", say=lambda _: None)
    environment.ensure("test", say=lambda _: None)
    assert len(installer.calls) == 3


@pytest.mark.parametrize("damage", ["no stamp", "torn stamp", "package gone", "python gone", "project gone"])
def test_a_damaged_environment_is_made_again(installer: Installer, damage: str) -> None:
    made = environment.ensure("run", say=lambda _: None)
    if damage == "no stamp":
        (made.folder / environment.STAMP).unlink()
    elif damage == "torn stamp":
        (made.folder / environment.STAMP).write_text('{"packages": [')
    elif damage == "package gone":
        next(made.folder.glob("[Ll]ib/**/*.dist-info")).rmdir()
    elif damage == "python gone":
        made.python.unlink()
    else:
        next(made.folder.glob("[Ll]ib/**/project.pth")).unlink()
    assert not environment.is_whole(made.folder)
    environment.ensure("run", say=lambda _: None)
    assert len(installer.calls) == 4
    assert environment.is_whole(made.folder)


def test_a_new_lock_makes_a_new_environment_and_removes_the_old(installer: Installer) -> None:
    old = environment.ensure("run", say=lambda _: None)
    environment.LOCKS["run"].write_text("# another\n")
    new = environment.ensure("run", say=lambda _: None)
    assert new != old
    assert not old.folder.exists()


def test_an_environment_in_use_is_not_removed(installer: Installer) -> None:
    old = environment.ensure("run", say=lambda _: None)
    with environment.in_use(old):
        environment.LOCKS["run"].write_text("# another\n")
        environment.ensure("run", say=lambda _: None)
        assert old.folder.exists()
    environment.remove_unused(environment.ensure("run", say=lambda _: None).folder)
    assert not old.folder.exists()


def test_two_launchers_do_not_work_at_once(project: Path) -> None:
    lock = environment.HOME / "making.lock"
    hold = (
        "import sys, pathlib; sys.path.insert(0, sys.argv[1]); import environment\n"
        "with environment.held(pathlib.Path(sys.argv[2]), wait=True):\n"
        "    sys.stdout.write('held\\n'); sys.stdout.flush(); sys.stdin.read()"
    )
    command = [sys.executable, "-c", hold, str(BINDER), str(lock)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with environment.held(lock, wait=False) as free:
            assert not free
        other.kill()  # however it ends, the lock is free again
    with environment.held(lock, wait=False) as free:
        assert free


def test_too_little_room_is_said(installer: Installer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(environment, "ROOM_NEEDED", 10**18)
    with pytest.raises(environment.StartError, match="too little room"):
        environment.ensure("run", say=lambda _: None)


def test_a_mac_without_packages_is_told_before_anything_is_fetched(
    installer: Installer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(environment.sys, "platform", "darwin")
    monkeypatch.setattr(environment.platform, "machine", lambda: "x86_64")
    with pytest.raises(environment.StartError, match="Intel processor; nothing was fetched"):
        environment.ensure("run", say=lambda _: None)
    assert installer.calls == []
    monkeypatch.setattr(environment.platform, "machine", lambda: "arm64")
    environment.refuse_intel_mac()


def test_no_pip_is_said(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(environment.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(environment.StartError, match="python3-venv"):
        environment.ensure("run", say=lambda _: None)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("ERROR: [Errno 28] No space left on device", "room"),
        ("NewConnectionError: Failed to establish a new connection: Name or service not known", "Internet"),
        ("socket.gaierror: Temporary failure in name resolution", "Internet"),
        ("ERROR: Could not find a version that satisfies x==1 (from versions: none)", "Internet"),
        ("ERROR: No matching distribution found for numba==9", "do not exist for Python"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.", "not the ones"),
        ("something nobody thought of", "What pip said"),
    ],
)
def test_what_pip_says_becomes_a_sentence(project: Path, words: str, sentence: str) -> None:
    assert sentence in str(environment.explain(words, project / "log"))


@pytest.mark.parametrize("name", LAUNCHERS)
def test_an_old_python_gets_a_sentence(name: str) -> None:
    """The launchers' own files parse for Python 3.7, and check the version before they import anything newer."""
    tree = ast.parse((BINDER / name).read_text(encoding="utf-8"), feature_version=(3, 7))
    check = next(i for i, node in enumerate(tree.body) if isinstance(node, ast.If))
    assert all(isinstance(node, ast.Expr | ast.Import) for node in tree.body[:check])
    assert "3.11" in ast.unparse(tree.body[check])


@pytest.mark.parametrize("name", FILES)
def test_launchers_need_only_the_standard_library(name: str) -> None:
    tree = ast.parse((BINDER / name).read_text(encoding="utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.split(".")[0] for name in names} <= {
        *sys.stdlib_module_names,
        "environment",
        "lesson_server",
    }


def test_windows_gets_a_sentence_and_nothing_is_made(installer: Installer) -> None:
    with pytest.raises(environment.StartError, match=r"wsl --install.*open_lessons"):
        open_class.refuse_windows("nt")
    open_class.refuse_windows("posix")
    assert installer.calls == []
    source = ast.parse((BINDER / "open_class.py").read_text(encoding="utf-8"))
    (main,) = (node for node in source.body if isinstance(node, ast.FunctionDef) and node.name == "main")
    said = [ast.unparse(line) for line in main.body]
    assert said.index("refuse_windows()") < said.index("environment = ensure('class')")


def test_packages_of_one_part_do_not_push_out_another(installer: Installer) -> None:
    environment.ensure("class", say=lambda _: None)
    environment.ensure("test", say=lambda _: None)
    before = len(installer.calls)
    environment.ensure("class", say=lambda _: None)
    environment.ensure("run", say=lambda _: None)
    assert len(installer.calls) == before


def test_a_taken_port_is_said() -> None:
    with open_lessons.socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(open_lessons.StartError, match=f"Port {port}"):
            open_lessons.free_port(port)
    assert open_lessons.free_port(None) >= open_lessons.FIRST_PORT


def test_the_server_is_quiet_and_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JUPYTER_CONFIG_DIR", "elsewhere")
    monkeypatch.setenv("JUPYTER_PATH", "elsewhere")
    options = lesson_server.server_options(tmp_path, 1234)
    assert "--ServerApp.ip=127.0.0.1" in options
    assert not any("token" in option for option in options)  # other users can read a command line
    overrides = json.loads((tmp_path / "app-settings" / "overrides.json").read_text())
    assert overrides["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"
    variables = lesson_server.server_variables(tmp_path, "secret")
    assert variables["JUPYTER_TOKEN"] == "secret"
    assert "elsewhere" not in variables.values()


def test_a_trainers_file_that_cannot_be_used_is_said_before_a_page_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Here:
        python = sys.executable

    monkeypatch.chdir(tmp_path)
    open_lessons.look_over_settings(Here())  # nothing is named
    monkeypatch.setenv("SIMULATOR_TRAINER_FILE", "figures.yaml")
    with pytest.raises(
        environment.StartError, match=r"SIMULATOR_TRAINER_FILE, figures\.yaml: .*cannot be opened"
    ):
        open_lessons.look_over_settings(Here())
    figures = "format: trainer-figures\nversion: 1\nminutes: {walk_round: 2}\n"
    (tmp_path / "figures.yaml").write_text(figures, encoding="utf-8")
    open_lessons.look_over_settings(Here())
    assert Path(os.environ["SIMULATOR_TRAINER_FILE"]) == tmp_path / "figures.yaml"  # kernels work elsewhere


def test_arguments_reach_pytest() -> None:
    fast = run_tests.command(False, [])
    assert fast[:2] == ["-m", "pytest"]
    assert {"tests", "simulator", "lessons", "--nbval-lax"} <= set(fast)
    full = run_tests.command(True, ["-k", "word"])
    assert full[full.index("--benchmark-disable") - 1] == ""
    assert full[-2:] == ["-k", "word"]
    chosen = run_tests.command(False, ["tests/house/test_door.py::test_an_unknown_name_is_refused"])
    assert "simulator" not in chosen


def pins(part: str) -> dict[str, list[str]]:
    """What a lock asks for, with the hashes of each."""
    found: dict[str, list[str]] = {}
    for line in make_locks.LOCKS[part].read_text(encoding="utf-8").splitlines():
        words = line.removesuffix(" \\")
        if words.startswith("    "):
            found[list(found)[-1]].append(words.strip())
        elif not words.startswith("#"):
            found[words] = []
    return found


def test_all_tests_spread_over_the_processors_and_a_few_do_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_tests.os, "cpu_count", lambda: 2)
    spread = run_tests.command(False, ["-k", "word"])
    assert spread[spread.index("-n") + 1] == "3"  # one is waited for while two work
    for alone in (["tests/house"], ["-n0"], ["-n", "3"], ["-m", "benchmark"], ["--pdb"], ["-s"]):
        assert "loadgroup" not in run_tests.command(False, alone), alone
    monkeypatch.setattr(run_tests.os, "cpu_count", lambda: 1)
    assert "-n" not in run_tests.command(False, [])


@pytest.mark.parametrize("part", ["run", "class", "test"])
def test_a_lock_pins_everything_by_hash_and_names_no_index(part: str) -> None:
    found = pins(part)
    assert len(found) > 80
    for pin, hashes in found.items():
        assert re.fullmatch(r"[a-z0-9.-]+==[0-9a-z.]+( ; .+)?", pin), pin
        assert hashes, pin
        for each in hashes:
            assert re.fullmatch(r"--hash=sha256:[0-9a-f]{64}", each), pin


def test_the_test_lock_holds_the_run_lock() -> None:
    def named(part: str) -> dict[str, list[str]]:
        return {pin.split(" ;")[0]: hashes for pin, hashes in pins(part).items()}

    run, room, test = named("run"), named("class"), named("test")
    assert run.items() <= room.items() <= test.items()


def test_a_lock_is_made_from_the_one_that_stands(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A package that cannot be had changes nothing and is said; what is pinned stays pinned."""
    monkeypatch.setattr(make_locks, "PROJECT", project)
    (project / "pyproject.toml").write_text(
        "[project]\nname = 'small'\nversion = '1'\ndependencies = ['six<0']\n"
    )
    with pytest.raises(make_locks.StartError, match=r"run\.txt could not be made; nothing was changed"):
        make_locks.make("run", Path(sys.executable), [], project.parent)
    assert make_locks.LOCKS["run"].read_text() == "# run\n"


@pytest.mark.parametrize("part", ["run", "class", "test"])
def test_the_locks_answer_what_the_project_asks_for(part: str) -> None:
    """Every dependency is pinned in its range; run binder/make_locks.py when this fails."""
    asked = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = asked["optional-dependencies"]
    wanted = [*asked["dependencies"], *extras["build"]]
    if part == "class":
        wanted += extras["classroom"]
    if part == "test":
        wanted += [*extras["test"], *extras["dev"]]
    pinned = [Requirement(pin) for pin in pins(part)]
    for requirement in map(Requirement, wanted):
        if requirement.name == "callout-simulator":
            continue
        versions = [
            str(pin.specifier).removeprefix("==")
            for pin in pinned
            if canonicalize_name(pin.name) == canonicalize_name(requirement.name)
        ]
        assert versions, f"{requirement.name} is not in the lock"
        assert all(version in requirement.specifier for version in versions), requirement


def test_the_locks_own_pip_comes_first_and_sources_are_compiled_last(
    installer: Installer, monkeypatch: pytest.MonkeyPatch
) -> None:
    lock = environment.LOCKS["run"]
    pip = "pip==26.3 \\\n    --hash=sha256:aa \\\n    --hash=sha256:bb\n"
    lock.write_text(f"# Made\nbefore==1 \\\n    --hash=sha256:cc\n{pip}pipes==2 \\\n    --hash=sha256:dd\n")
    compiled: list[int] = []
    monkeypatch.setattr(environment, "compile_sources", lambda folder: compiled.append(len(installer.calls)))
    environment.ensure("run", say=lambda _: None)
    first, second, _ = installer.calls
    assert Path(first[-1]).read_text() == pip
    assert second[-1] == str(lock)
    assert all("--require-hashes" in call for call in (first, second))
    assert compiled == [3]


def test_what_was_installed_is_compiled_and_what_cannot_be_is_no_matter(project: Path) -> None:
    folder = environment.HOME / "python-x"
    venv.create(folder, symlinks=sys.platform != "win32")
    site = next(folder.glob("[Ll]ib/**/site-packages"))
    (site / "good.py").write_text("one = 1\n")
    (site / "template.py").write_text("{{ name }} =\n")
    environment.compile_sources(folder)
    assert [path.name.split(".")[0] for path in site.glob("__pycache__/*.pyc")] == ["good"]


def test_packages_are_installed_by_their_hashes(installer: Installer) -> None:
    environment.ensure("test", say=lambda _: None)
    locked = [call for call in installer.calls if "-r" in call]
    assert len(locked) == 2
    assert all("--require-hashes" in call for call in locked)


@pytest.mark.parametrize("made", thin("bare", "by the launcher"))
def test_a_file_other_than_the_locked_one_is_refused(project: Path, tmp_path: Path, made: str) -> None:
    """pip itself, with a wheel of the right name and another content."""
    wheel = tmp_path / "small-1.0-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("small.py", "")
        archive.writestr("small-1.0.dist-info/METADATA", "Metadata-Version: 2.1\nName: small\nVersion: 1.0\n")
        archive.writestr(
            "small-1.0.dist-info/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        archive.writestr("small-1.0.dist-info/RECORD", "")
    lock = project / "run.txt"
    folder = environment.HOME / "python-x"
    environment.HOME.mkdir()
    log = environment.HOME / "log"
    if made == "bare":
        venv.create(folder, symlinks=sys.platform != "win32")
    else:
        environment.make_empty(folder, log)
        environment.leave_out(folder, log)
    offline = ("--no-deps", "--require-hashes", "-r", str(lock))
    lock.write_text(f"small @ {wheel.as_uri()} --hash=sha256:{'0' * 64}\n")
    with pytest.raises(environment.StartError, match="not the ones that the lock names"):
        environment.install(folder, log, lambda _: None, *offline)
    assert not any(name.startswith("small") for name in environment.packages_in(folder))
    right = hashlib.sha256(wheel.read_bytes()).hexdigest()
    lock.write_text(f"small @ {wheel.as_uri()} --hash=sha256:{right}\n")
    environment.install(folder, log, lambda _: None, *offline)
    assert any(name.startswith("small") for name in environment.packages_in(folder))
