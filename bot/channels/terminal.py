"""A conversation in the terminal: lines come in, messages go out, buttons are letters.

Letters and not numbers, because a number may be an answer: a strip's pad that reads 3.
"""

import asyncio
import hashlib
import secrets
import shutil
import string
import tempfile
import textwrap
import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TextIO

from bot.channels.contract import Receive
from bot.model.enclosure import Made
from bot.model.event import Arrival, Began, Event, File, Tapped, Wrote
from bot.model.message import Button, Delivered, Parcel, Refusal
from bot.model.person import Address

TERMINAL = "terminal"
CHAT = "here"
WIDTH = 80
ReadLine = Callable[[], str]
"""Blocks until a line was written; an empty string means that there will be no more."""


class TerminalChannel:
    """One person at one terminal.

    `on_own` gets every line that begins with a slash and returns whether it was meant for the program itself; `on_end`
    is called when the person has left. `invite` is the digest of the invite that opens the chat for the first time.
    What is enclosed with a message is written into `folder`.
    """

    name = TERMINAL

    def __init__(
        self,
        dealer: str,
        read_line: ReadLine,
        out: TextIO,
        now: Callable[[], datetime],
        *,
        invite: str | None = None,
        language: str | None = None,
        folder: Path | None = None,
        on_own: Callable[[str], bool] = lambda _: False,
        on_end: Callable[[], None] = lambda: None,
    ) -> None:
        self._dealer = dealer
        self._read_line = read_line
        self._out = out
        self._now = now
        self._invite = invite
        self._language = language
        self._folder = folder or Path(tempfile.gettempdir())
        self._on_own, self._on_end = on_own, on_end
        self._run = secrets.token_hex(4)
        self._updates = 0
        self._buttons: tuple[Button, ...] = ()
        self._lines: asyncio.Queue[str] = asyncio.Queue()
        self._task: asyncio.Task[None] | None = None

    async def start(self, receive: Receive) -> None:
        """Open the chat and begin to listen."""
        await receive(self._arrival(Began(invite=self._invite)))
        loop = asyncio.get_running_loop()
        threading.Thread(target=self._listen, args=(loop,), name="terminal", daemon=True).start()
        self._task = asyncio.create_task(self._take_in(receive), name="terminal: taking in")

    async def stop(self) -> None:
        """Take nothing more in. The thread that listens ends with its next line, or with the program."""
        if self._task:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        """Print a message and its buttons."""
        message = parcel.message
        self._print("")
        width = min(shutil.get_terminal_size((WIDTH, 24)).columns, WIDTH)
        for paragraph in message.text.split("\n"):
            for row in textwrap.wrap(paragraph, width - 2) or [""]:
                self._print(f"  {row}")
        if file := message.file:
            self._print(f"  ({file.what} {file.name}".rstrip() + ")")
        if made := parcel.made:
            self._print(f"  ({await asyncio.to_thread(self._put_down, made)})")
        self._buttons = tuple(button for row in message.buttons for button in row)
        if self._buttons:
            self._print("")
        letters = iter(string.ascii_lowercase)
        for buttons in message.buttons:
            self._print("  " + "   ".join(f"({next(letters)}) {button.label}" for button in buttons))
        print("\n> ", end="", file=self._out, flush=True)
        return Delivered()

    def _put_down(self, made: Made) -> Path:
        """Write what is enclosed to a file of its own, named by what it holds."""
        self._folder.mkdir(parents=True, exist_ok=True)
        stem, _, ending = made.name.rpartition(".")
        place = self._folder / f"{stem}-{hashlib.sha256(made.content).hexdigest()[:8]}.{ending}"
        place.write_bytes(made.content)
        return place

    async def fetch(self, file: File) -> bytes | None:  # noqa: ARG002 - as the contract has it
        """Nobody sends files here."""
        return None

    def link(self, secret: str) -> str:
        """What would be written to come in."""
        return f"/start {secret}"

    async def busy_with(self, address: Address) -> None:
        """The answer is there before anybody could look."""

    def _listen(self, loop: asyncio.AbstractEventLoop) -> None:
        while True:
            line = self._read_line()
            try:
                loop.call_soon_threadsafe(self._lines.put_nowait, line)
            except RuntimeError:
                return
            if not line:
                return

    async def _take_in(self, receive: Receive) -> None:
        while line := await self._lines.get():
            text = line.strip()
            if text.startswith("/") and self._on_own(text):
                continue
            if text:
                await receive(self._arrival(self._event(text)))
            else:
                print("> ", end="", file=self._out, flush=True)
        self._on_end()

    def _event(self, text: str) -> Event:
        place = string.ascii_lowercase.find(text.lower().strip("()")) if len(text.strip("()")) == 1 else -1
        if 0 <= place < len(self._buttons):
            return Tapped(data=self._buttons[place].data)
        return Wrote(text=text)

    def _arrival(self, event: Event) -> Arrival:
        self._updates += 1
        return Arrival(
            dealer=self._dealer,
            address=Address(channel=self.name, chat=CHAT),
            update=f"{self._run}-{self._updates}",
            at=self._now(),
            event=event,
            language=self._language,
        )

    def _print(self, text: str) -> None:
        print(text, file=self._out)
