"""A slow line to a server on this machine: everything arrives, each way a while later."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

CHUNK = 65_536  # [bytes]


async def _carry(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, delay: float) -> None:
    """One way of a connection, every piece ``delay`` seconds late and in its order."""
    loop = asyncio.get_running_loop()
    on_the_way: asyncio.Queue[tuple[float, bytes]] = asyncio.Queue()

    async def deliver() -> None:
        while True:
            due, piece = await on_the_way.get()
            await asyncio.sleep(max(0.0, due - loop.time()))
            if not piece:
                break
            writer.write(piece)
            await writer.drain()
        writer.close()

    delivering = asyncio.create_task(deliver())
    with suppress(OSError):
        while piece := await reader.read(CHUNK):
            on_the_way.put_nowait((loop.time() + delay, piece))
    on_the_way.put_nowait((loop.time() + delay, b""))
    with suppress(OSError):
        await delivering


@contextmanager
def slow_line(port: int, round_trip: float) -> Iterator[int]:
    """A port that leads to ``port`` with ``round_trip`` seconds there and back."""
    loop = asyncio.new_event_loop()
    ready: list[int] = []
    up = threading.Event()

    async def meet(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        there, back = await asyncio.open_connection("127.0.0.1", port)
        await asyncio.gather(
            _carry(reader, back, round_trip / 2),
            _carry(there, writer, round_trip / 2),
            return_exceptions=True,
        )

    async def begin() -> None:
        listening = await asyncio.start_server(meet, "127.0.0.1", 0)
        ready.append(listening.sockets[0].getsockname()[1])
        up.set()

    def run() -> None:
        asyncio.set_event_loop(loop)
        loop.run_until_complete(begin())
        loop.run_forever()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert up.wait(10), "the slow line did not open"
    try:
        yield ready[0]
    finally:
        loop.call_soon_threadsafe(loop.stop)
        thread.join(10)
