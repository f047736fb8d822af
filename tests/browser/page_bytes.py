"""How many bytes a lesson's page takes on a first visit: ``python -m tests.browser.page_bytes 00 03 09``.

Told apart: plotly's script, all else that the server sends, and what the kernel says to the page; then all of it as it
goes over the line, the kernel's words by the same packing done here.
"""

from __future__ import annotations

import argparse
import base64
import sys
import tempfile
import zlib
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import FLAGS, PROJECT, Server, running_server, wait_ready
from tests.conftest import find_browser


def page_bytes(browser: Browser, server: Server, lesson: str) -> dict[str, float]:
    """Bodies as they are before any packing, messages of the kernel, and all of it as it goes over the line; in kB."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    seen = {"plotly": 0.0, "other": 0.0, "kernel": 0.0, "packed": 0.0}
    line = context.new_cdp_session(page)
    names: dict[str, str] = {}
    line.on("Network.responseReceived", lambda e: names.update({e["requestId"]: e["response"]["url"]}))

    def data(event: dict[str, object]) -> None:
        which = "plotly" if "plotly" in names.get(str(event["requestId"]), "") else "other"
        seen[which] += float(event["dataLength"]) / 1e3  # type: ignore[arg-type]

    def frame(event: dict[str, dict[str, str]]) -> None:
        payload = event["response"]["payloadData"]
        share = 0.75 if event["response"]["opcode"] == 2 else 1.0  # a binary message comes as base64
        seen["kernel"] += share * len(payload) / 1e3
        binary = event["response"]["opcode"] == 2
        words = base64.b64decode(payload) if binary else payload.encode()
        seen["packed"] += len(zlib.compress(words, 6)) / 1e3

    def ended(event: dict[str, object]) -> None:
        seen["packed"] += float(event["encodedDataLength"]) / 1e3  # type: ignore[arg-type]

    line.on("Network.dataReceived", data)
    line.on("Network.loadingFinished", ended)
    line.on("Network.webSocketFrameReceived", frame)
    line.send("Network.enable")
    page.goto(server.page_address(lesson))
    wait_ready(page, timeout=600)
    page.wait_for_timeout(2000)
    context.close()
    server.end_sessions()
    return seen


def main(arguments: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(prog="page_bytes", description=__doc__)
    parser.add_argument("lessons", nargs="*", default=["00", "03", "09"], help="how their files' names begin")
    chosen = parser.parse_args(arguments)
    paths = [path.name for path in sorted((PROJECT / "lessons").glob("*.ipynb"))]
    with (
        tempfile.TemporaryDirectory() as folder,
        running_server(Path(folder)) as server,
        sync_playwright() as driver,
    ):
        browser = driver.chromium.launch(executable_path=find_browser(), args=FLAGS)
        for name in [path for path in paths if path.startswith(tuple(chosen.lessons))]:
            seen = page_bytes(browser, server, name)
            packed = seen.pop("packed")
            parts = ", ".join(f"{part} {size:,.0f} kB" for part, size in seen.items())
            line = f"over the line {packed:,.0f} kB"
            sys.stdout.write(f"{name}: {sum(seen.values()):,.0f} kB ({parts}); {line}\n")
        browser.close()


if __name__ == "__main__":
    main()
