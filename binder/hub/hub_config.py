"""How the hub of a class is set up; JupyterHub reads this file, ``binder/hub/run_class.py`` starts it.

What differs from day to day (address, ports, certificate) lies in the folder of the class. Every learner gets a server of
their own with the options of ``binder/lesson_server.py``, on a folder of their own.
"""

import asyncio
import json
import os
import secrets
import sys
from pathlib import Path
from urllib.parse import urlsplit

from jupyterhub.objects import Server
from platformdirs import user_cache_path

PROJECT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(PROJECT / "binder"), str(PROJECT / "binder" / "hub")]

from lay_out import lay_out  # noqa: E402
from lesson_server import policy  # noqa: E402

from simulator.classroom import own_accounts, places  # noqa: E402
from simulator.classroom.asking import ADDRESS  # noqa: E402
from simulator.classroom.authenticator import ClassAuthenticator  # noqa: E402
from simulator.classroom.kept_sealed import ACCOUNTS_VARIABLE, OWN  # noqa: E402
from simulator.classroom.pages import first_page, wall_settings  # noqa: E402
from simulator.classroom.people_and_pins import TRAINER  # noqa: E402
from simulator.classroom.record_desk import RECORDS_VARIABLE  # noqa: E402
from simulator.classroom.starting import ClassSpawner  # noqa: E402
from simulator.classroom.wall import TEMPLATES, page_words  # noqa: E402
from simulator.marking.bank import BANK_VARIABLE  # noqa: E402
from simulator.panels.learner.at_service import SEALED_ADDRESS  # noqa: E402
from simulator.panels.lessons.registry import DESKS, LESSONS  # noqa: E402
from simulator.signing.keys import key_folder  # noqa: E402
from simulator.texts import entry, text  # noqa: E402

c = get_config()  # noqa: F821 - JupyterHub puts it here

folder = places.class_folder()
opened, settings = places.read_opened(folder), places.read_settings(folder)
encrypted = opened.public.startswith("https:")  # here, or by what stands in front
origin = opened.public.split("://")[1].rstrip("/")
sockets = f"{'wss' if encrypted else 'ws'}://{origin}"

# the front door, and what stands behind it on loopback
c.JupyterHub.bind_url = opened.address
c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{opened.hub_port}"
if urlsplit(opened.address).hostname in ("0.0.0.0", "::"):
    # the hub would look for its door by the machine's name, which need not be known; all it asks is on this machine
    Server._connect_ip = property(lambda server: "127.0.0.1")
c.JupyterHub.ssl_cert, c.JupyterHub.ssl_key = opened.certificate, opened.key
# a first kernel may wait for the model to be imported, longer than the proxy would by itself (20 s)
patience = ["--timeout", "180000", "--proxy-timeout", "180000"]  # [ms]
c.ConfigurableHTTPProxy.command = [str(Path(sys.executable).parent / "configurable-http-proxy"), *patience]
c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{opened.proxy_port}"
c.ConfigurableHTTPProxy.pid_file = str(folder / "proxy.pid")
c.ConfigurableHTTPProxy.check_running_interval = 10
c.JupyterHub.db_url = f"sqlite:///{folder / 'hub.sqlite3'}"
c.JupyterHub.cookie_secret_file = str(folder / "cookie_secret")
c.JupyterHub.log_level = "WARN"
# the hub itself may ask the service what the trainer may; the token is of this day alone
SERVICE, SERVICE_TOKEN = "class", secrets.token_hex(32)
SERVICE_ADDRESS = f"http://127.0.0.1:{opened.service_port}/services/{SERVICE}"
c.JupyterHub.tornado_settings = {
    "headers": {"Content-Security-Policy": policy(sockets)},
    "class_service": (SERVICE_ADDRESS, SERVICE_TOKEN),
    "class_accounts": opened.accounts,
    "wall": wall_settings(opened.public, settings.class_word, encrypted),
    "cookie_options": {"secure": encrypted},
}

# who may come in
c.JupyterHub.authenticator_class = ClassAuthenticator
c.ClassAuthenticator.encrypted = encrypted
c.ClassAuthenticator.most = opened.most
c.Authenticator.allow_all = True
c.JupyterHub.template_paths = [str(TEMPLATES)]
c.JupyterHub.template_vars = {
    **page_words(),
    "starting": entry("classroom.starting"),
    "full": text("classroom.full", n=opened.most),
}
c.JupyterHub.default_url = first_page
c.JupyterHub.active_server_limit = opened.most + 1  # the trainer's own page is always let in

# what hands call sheets out and keeps the records, asked by every learner's page by the token of its server;
# the hub looks twice a minute whether it runs, and starts it again where it does not
IDLE = 3600  # [s] after which a page that nobody has open is ended
SEALED = "sealed"
SEALED_SERVICE = f"http://127.0.0.1:{opened.sealed_port}/services/{SEALED}"
FOR_THE_SERVICE = ("PYTHONPATH", "SIMULATOR_LANGUAGE", "SIMULATOR_COMPILED_DIR", RECORDS_VARIABLE)
FOR_SEALED_CALLS = (
    *FOR_THE_SERVICE,
    "SIMULATOR_CACHE_DIR",
    "SIMULATOR_RIGS_DIR",
    "SIMULATOR_TRAINER_FILE",
    BANK_VARIABLE,
)
c.JupyterHub.service_check_interval = (
    0  # it only fills the log; a service that ended is started again all the same
)
c.JupyterHub.services = [
    {
        "name": SERVICE,
        "api_token": SERVICE_TOKEN,
        "url": f"http://127.0.0.1:{opened.service_port}",
        "command": [sys.executable, "-m", "simulator.classroom.service"],
        "cwd": str(PROJECT),
        "display": False,
        "environment": {
            places.CLASS_FOLDER_VARIABLE: str(folder),
            "SIMULATOR_KEY_DIR": str(key_folder()),
            **{name: os.environ[name] for name in FOR_THE_SERVICE if name in os.environ},
        },
    },
    # sealed calls are played beside it, so that nobody's records wait for the model
    {
        "name": SEALED,
        "url": f"http://127.0.0.1:{opened.sealed_port}",
        "command": [sys.executable, "-m", "simulator.sealed.service"],
        "cwd": str(PROJECT),
        "display": False,
        "environment": {
            places.CLASS_FOLDER_VARIABLE: str(folder),
            "SIMULATOR_KEY_DIR": str(key_folder()),
            ACCOUNTS_VARIABLE: opened.accounts,
            **{name: os.environ[name] for name in FOR_SEALED_CALLS if name in os.environ},
        },
    },
]

# a server of their own for everybody; what can be made again is shared, for a learner has a home of their own
cache = os.environ.get("SIMULATOR_CACHE_DIR") or str(user_cache_path("callout-simulator", appauthor=False))
lessons = [each.notebook for each in LESSONS.values()]
desks = [each.notebook for each in DESKS.values()]


async def make_ready(spawner: object) -> None:
    """Lay out somebody's folder, and say what their server is started with."""
    account = spawner.user.name
    person, is_trainer = spawner.authenticator.door.people.of_account(account), account == TRAINER
    if person is None and not is_trainer:
        raise ValueError(text("classroom.no_such_person"))
    parted = opened.accounts == OWN and not is_trainer
    own = folder / "learners" / account
    if parted:
        own = Path((await asyncio.to_thread(own_accounts.local_account, account)).pw_dir)
    own_cache = str(own / "cache") if parted else cache
    names = [*lessons, *(desks if is_trainer else [])]
    if parted:  # what learners can change is written under their own account alone
        asked = {"own": str(own), "cache": own_cache, "names": names, "allowed": policy(sockets)}
        command = [sys.executable, str(PROJECT / "binder" / "hub" / "lay_out.py")]
        laid = json.loads(
            await asyncio.to_thread(own_accounts.as_account, account, command, json.dumps(asked))
        )
        folders, spawner.args = laid["variables"], laid["options"]
    else:
        folders, spawner.args = lay_out(own, names, policy(sockets))
    shared = "" if parted else os.environ.get("SIMULATOR_FORK_SERVER", "")  # it runs under the hub's account
    spawner.environment = {
        **folders,
        **({"SIMULATOR_FORK_SERVER": shared} if shared else {}),
        "SIMULATOR_CACHE_DIR": own_cache,
        "SIMULATOR_RIGS_DIR": os.environ.get("SIMULATOR_RIGS_DIR") or str(PROJECT / "lessons" / "own_rigs"),
        "SIMULATOR_PLAIN_SOCKETS": "1",  # the proxy passes on no packed messages: the page would lose its kernel
        ADDRESS: SERVICE_ADDRESS,
        SEALED_ADDRESS: SEALED_SERVICE,
        ACCOUNTS_VARIABLE: opened.accounts,
        "PYTHONUTF8": "1",
        "PYTHONNOUSERSITE": "1",
        **(trainers_variables() if is_trainer else places.variables_of(own, person.name)),
        **({"SIMULATOR_COMPILED_DIR": own_cache, "SIMULATOR_KEY_DIR": str(own / "keys")} if parted else {}),
    }
    if not is_trainer:
        spawner.args.append("--ServerApp.terminals_enabled=False")
    spawner.args += ended_unused(idle_s())


def idle_s() -> int:
    """How long [s] a page that nobody has open is kept; what was done on it is kept for good."""
    given = os.environ.get("SIMULATOR_CLASS_IDLE_S", "")
    return max(int(given), 10) if given.isdecimal() else IDLE


def ended_unused(after: int) -> list[str]:
    """Options by which a server ends kernels that nobody has open, and then itself, to free its memory."""
    look = max(min(after // 4, 300), 5)
    return [
        f"--MappingKernelManager.cull_idle_timeout={after}",
        f"--MappingKernelManager.cull_interval={look}",
        f"--ServerApp.shutdown_no_activity_timeout={after}",
    ]


def trainers_variables() -> dict[str, str]:
    """The trainer's page has the records, calls and keys that it has without a class."""
    return {
        "SIMULATOR_DATA_DIR": str(folder.parent),
        "SIMULATOR_CALLS_DIR": os.environ.get("SIMULATOR_CALLS_DIR")
        or str(PROJECT / "lessons" / "own_call_outs"),
        "SIMULATOR_KEY_DIR": str(key_folder()),
    }


c.JupyterHub.spawner_class = own_accounts.OwnAccountSpawner if opened.accounts == OWN else ClassSpawner
c.OwnAccountSpawner.trainer_home = str(folder / "learners" / TRAINER)
c.ClassSpawner.home_dir_template = str(folder / "learners" / "{username}")
c.Spawner.cmd = [sys.executable, "-m", "jupyterhub.singleuser"]
c.Spawner.default_url = f"/doc/tree/lessons/{LESSONS['00'].notebook}"
c.Spawner.pre_spawn_hook = make_ready
c.Spawner.env_keep = [
    "OPENBLAS_NUM_THREADS",
    "PATH",
    "LANG",
    "LC_ALL",
    "PYTHONPATH",
    "SIMULATOR_COMPILED_DIR",
    "SIMULATOR_LANGUAGE",
    "SIMULATOR_TRAINER_FILE",
]
c.Spawner.poll_interval = 5  # [s] after which a server that ended by itself is known to have ended
c.Spawner.start_timeout = c.Spawner.http_timeout = 180  # [s] on a busy machine, from the turn on
c.JupyterHub.concurrent_spawn_limit = 0  # nobody is turned away at the bell: starts wait for their turn
