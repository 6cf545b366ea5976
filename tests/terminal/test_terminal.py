"""In the terminal a line is a message, a letter is a button, and a number stays a number."""

import asyncio
import io
import queue
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.channels.terminal import CHAT, TERMINAL, TerminalChannel
from bot.model.enclosure import Made
from bot.model.event import Arrival, Began, Tapped, Wrote
from bot.model.message import Button, Message, Parcel
from bot.model.person import Address

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


class Sitting:
    """A person at a terminal: what they type, what they see, and what reaches the bot."""

    def __init__(self) -> None:
        self.keys: queue.Queue[str] = queue.Queue()
        self.screen = io.StringIO()
        self.arrived: asyncio.Queue[Arrival] = asyncio.Queue()
        self.own: list[str] = []
        self.left = asyncio.Event()
        self.channel = TerminalChannel(
            "d",
            self.keys.get,
            self.screen,
            lambda: NOON,
            invite="digest",
            language="fr",
            on_own=lambda line: line == "/quit" and not self.own.append(line),
            on_end=self.left.set,
        )

    async def receive(self, arrival: Arrival) -> bool:
        await self.arrived.put(arrival)
        return True

    async def types(self, line: str) -> Arrival:
        self.keys.put(line + "\n")
        return await asyncio.wait_for(self.arrived.get(), 10)

    async def sees(self, text: str, *labels: str) -> None:
        buttons = tuple((Button(label=label, data=f"1c.{label}"),) for label in labels)
        message = Message(to="p", text=text, buttons=buttons)
        address = Address(channel=TERMINAL, chat=CHAT)
        await self.channel.send(Parcel(number=1, dealer="d", address=address, message=message, at=NOON))


@pytest.fixture
async def sitting():  # type: ignore[no-untyped-def]
    sat = Sitting()
    await sat.channel.start(sat.receive)
    yield sat
    sat.keys.put("")
    await sat.channel.stop()


async def test_the_chat_opens_by_itself_with_the_invite(sitting: Sitting) -> None:
    opened = await sitting.arrived.get()
    assert opened.event == Began(invite="digest")
    assert (opened.language, opened.address.channel) == ("fr", "terminal")


async def test_a_line_is_a_message_and_every_one_is_another_update(sitting: Sitting) -> None:
    opened = await sitting.arrived.get()
    first, second = await sitting.types("hello"), await sitting.types("hello")
    assert first.event == second.event == Wrote(text="hello")
    assert len({opened.update, first.update, second.update}) == 3


async def test_a_letter_taps_the_button_beside_it(sitting: Sitting) -> None:
    await sitting.arrived.get()
    await sitting.sees("Ready?", "Done", "Stuck")
    assert "(a) Done" in sitting.screen.getvalue()
    assert (await sitting.types("b")).event == Tapped(data="1c.Stuck")
    assert (await sitting.types("(A)")).event == Tapped(data="1c.Done")


async def test_a_number_is_an_answer_and_a_letter_without_a_button_is_a_word(sitting: Sitting) -> None:
    await sitting.arrived.get()
    await sitting.sees("Which number?", "0", "1")
    assert (await sitting.types("1")).event == Wrote(text="1")
    assert (await sitting.types("z")).event == Wrote(text="z")


async def test_the_programs_own_words_never_reach_the_bot(sitting: Sitting) -> None:
    await sitting.arrived.get()
    sitting.keys.put("/quit\n")
    assert (await sitting.types("/start")).event == Wrote(text="/start")
    assert sitting.own == ["/quit"]


async def test_the_end_of_the_input_ends_the_sitting(sitting: Sitting) -> None:
    sitting.keys.put("")
    await asyncio.wait_for(sitting.left.wait(), 10)


async def test_a_long_message_is_wrapped_for_the_screen(sitting: Sitting) -> None:
    await sitting.sees("word " * 100)
    assert max(map(len, sitting.screen.getvalue().splitlines())) <= 80


async def test_what_is_enclosed_is_written_to_a_file_whose_place_is_shown(tmp_path: Path) -> None:
    screen = io.StringIO()
    channel = TerminalChannel("d", lambda: "", screen, lambda: NOON, folder=tmp_path / "files")
    made = Made(form="document", name="care.ics", content=b"BEGIN:VCALENDAR")
    message, address = Message(to="p", text="Here it is."), Address(channel=TERMINAL, chat=CHAT)
    await channel.send(Parcel(number=1, dealer="d", address=address, message=message, at=NOON, made=made))
    (file,) = (tmp_path / "files").iterdir()
    assert (file.suffix, file.read_bytes()) == (".ics", made.content)
    assert f"({file})" in screen.getvalue()
