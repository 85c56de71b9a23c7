"""Sends requests at fixed times on one event loop, over connections that stay open, and keeps how long each took.

A thread for each request in flight took a fifth of a core at 40 requests a second, which the server then lacked.
"""

import asyncio
import time
from dataclasses import dataclass, field
from statistics import quantiles

OK = b"HTTP/1.1 200"
PATIENCE = 30  # s until a request counts as lost


class Line(asyncio.Protocol):
    """One connection; one request at a time."""

    def __init__(self) -> None:
        self.transport: asyncio.Transport | None = None
        self.answer: asyncio.Future | None = None
        self.head, self.rest = b"", 0
        self.is_open = False

    def connection_made(self, transport: asyncio.Transport) -> None:
        self.transport, self.is_open = transport, True

    def ask(self, request: bytes) -> asyncio.Future:
        """The head of the answer once its body is there whole."""
        self.head, self.rest = b"", -1
        self.answer = asyncio.get_running_loop().create_future()
        self.transport.write(request)
        return self.answer

    def data_received(self, data: bytes) -> None:
        if self.rest < 0:
            self.head += data
            head, end, body = self.head.partition(b"\r\n\r\n")
            if not end:
                return
            told = [one for one in head.lower().split(b"\r\n") if one.startswith(b"content-length:")]
            if not told:
                self._done(ConnectionError("an answer without its length"))
                return
            self.head, self.rest = head, int(told[0].partition(b":")[2]) - len(body)
        else:
            self.rest -= len(data)
        if self.rest <= 0:
            if b"\r\nconnection: close" in self.head.lower():
                self.is_open = False
            self._done(None)

    def connection_lost(self, fault: Exception | None) -> None:
        self.is_open = False
        self._done(fault or ConnectionError("closed before the whole answer was there"))

    def _done(self, fault: Exception | None) -> None:
        if self.answer is not None and not self.answer.done():
            if fault:
                self.answer.set_exception(fault)
            else:
                self.answer.set_result(self.head)


@dataclass
class Paced:
    """``times`` are seconds from when a request was due, so that a late start counts too; by page."""

    port: int
    rate: float  # 1/s
    times: dict[str, list[float]] = field(default_factory=dict)
    errors: dict[str, int] = field(default_factory=dict)
    renewed: int = 0  # asked again on another connection, since the server had closed an idle one at that moment
    free: list[Line] = field(default_factory=list)

    def run(self, requests: list[tuple[str, str, str]]) -> None:
        """Each request is page, address and cookie."""
        asyncio.run(self._all(requests))

    async def _all(self, requests: list[tuple[str, str, str]]) -> None:
        began, tasks = time.perf_counter() + 0.2, set()
        for place, (page, address, cookie) in enumerate(requests):
            due = began + place / self.rate
            await asyncio.sleep(max(0.0, due - time.perf_counter()))
            task = asyncio.create_task(self._one(due, page, address, cookie))
            tasks.add(task)
            task.add_done_callback(tasks.discard)
        await asyncio.gather(*tasks)
        for line in self.free:
            line.transport.close()
        self.free.clear()

    async def _one(self, due: float, page: str, address: str, cookie: str) -> None:
        request = f"GET {address} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nCookie: {cookie}\r\n\r\n".encode()
        try:
            is_good = (await asyncio.wait_for(self._head(request), PATIENCE)).startswith(OK)
        except (OSError, TimeoutError):
            is_good = False
        self.times.setdefault(page, []).append(time.perf_counter() - due)
        self.errors[page] = self.errors.get(page, 0) + (not is_good)

    async def _head(self, request: bytes) -> bytes:
        """As a browser does: what an idle connection does not take any more is asked again on a new one."""
        line = self._idle()
        if line is not None:
            try:
                return await self._answer(line, request)
            except ConnectionError:
                if line.head:
                    raise
                self.renewed += 1
        _, line = await asyncio.get_running_loop().create_connection(Line, "127.0.0.1", self.port)
        return await self._answer(line, request)

    def _idle(self) -> Line | None:
        while self.free:
            line = self.free.pop()
            if line.is_open:
                return line
        return None

    async def _answer(self, line: Line, request: bytes) -> bytes:
        head = await line.ask(request)
        if line.is_open:
            self.free.append(line)
        else:
            line.transport.close()
        return head

    def table(self) -> None:
        print(f"{'page':<22}{'requests':>9}{'errors':>8}{'p50 ms':>9}{'p95 ms':>9}{'p99 ms':>9}{'max ms':>9}")
        for page, times in sorted(self.times.items()) + [("all", sum(self.times.values(), []))]:
            cuts = quantiles(times, n=100)
            errors = sum(self.errors.values()) if page == "all" else self.errors[page]
            figures = "".join(f"{1000 * one:9.0f}" for one in (cuts[49], cuts[94], cuts[98], max(times)))
            print(f"{page:<22}{len(times):>9}{errors:>8}{figures}")
