"""Messages go out as people should see them, and every refusal says what it means."""

import asyncio

import pytest

from bot.channels.telegram import TelegramChannel
from bot.model.enclosure import Made
from bot.model.event import File, FileKind
from bot.model.message import Button, Delivered, Parcel, Refusal
from bot.run.clock import WallClock
from tests.botapi import BotApi, Fault
from tests.botapi.errors import Refusal as Answer
from tests.botapi.people import Person
from tests.telegram.desk import Desk, parcel


@pytest.fixture
def ada(api: BotApi) -> Person:
    person = api.person("Ada")
    person.starts()
    return person


async def test_text_that_looks_like_markup_arrives_as_written(channel: TelegramChannel, ada: Person) -> None:
    text = '<3 & <a href="x">Ada</b> 7 < 8 > 6 &amp;'
    assert isinstance(await channel.send(parcel(ada.id, text)), Delivered)
    assert ada.texts == [text]


async def test_buttons_stand_below_in_their_rows(channel: TelegramChannel, ada: Person) -> None:
    await channel.send(parcel(ada.id, "Which pad?", ["6.2", "6.8", "7.2"], ["Back"]))
    rows = ada.messages[-1]["reply_markup"]["inline_keyboard"]
    assert [[button["text"] for button in row] for row in rows] == [["6.2", "6.8", "7.2"], ["Back"]]


def with_file(chat: int, text: str, what: FileKind, reference: str) -> Parcel:
    plain = parcel(chat, text, ["Answer"])
    file = File(what=what, reference=reference)
    return plain.model_copy(update={"message": plain.message.model_copy(update={"file": file})})


async def test_a_file_is_sent_again_by_its_number_with_its_words_below(channel: TelegramChannel, ada: Person) -> None:
    photo = ada.sends_photo()["photo"][-1]["file_id"]
    assert isinstance(await channel.send(with_file(ada.id, "Ada <writes>:", "photo", photo)), Delivered)
    message = ada.messages[-1]
    assert (message["photo"][-1]["file_id"], message["caption"]) == (photo, "Ada <writes>:")
    assert message["reply_markup"]


async def test_words_too_long_for_a_caption_go_before_the_file(channel: TelegramChannel, ada: Person) -> None:
    log = ada.sends_file("document", "log.csv", b"ph,7.4")["document"]["file_id"]
    await channel.send(with_file(ada.id, "word " * 300, "document", log))
    first, second = ada.messages[-2:]
    assert (first["text"] + " " + second["caption"]).split() == ["word"] * 300
    assert second["document"]["file_id"] == log


async def test_an_animation_is_sent_as_what_it_is_and_a_file_that_is_gone_leaves_its_words(
    channel: TelegramChannel, ada: Person
) -> None:
    moving = ada.sends_file("animation", "jets.mp4", b"x")["animation"]["file_id"]
    await channel.send(with_file(ada.id, "Ada:", "video", moving))
    assert ada.messages[-1]["animation"]["file_id"] == moving
    assert isinstance(await channel.send(with_file(ada.id, "Ada:", "photo", "gone")), Delivered)
    assert ada.texts[-1] == "Ada:"


PNG = b"\x89PNG\r\n\x1a\n" + b"\0\0\0\rIHDR" + (800).to_bytes(4, "big") + (1000).to_bytes(4, "big") + b"rest"


def with_made(chat: int, text: str, made: Made) -> Parcel:
    return parcel(chat, text, ["Done"]).model_copy(update={"made": made})


async def test_a_picture_goes_up_with_its_words_and_buttons_below(channel: TelegramChannel, ada: Person) -> None:
    answer = await channel.send(with_made(ada.id, "pH <7.4>", Made(form="picture", name="chart.png", content=PNG)))
    message = ada.messages[-1]
    assert answer == Delivered(reference=str(message["message_id"]))
    assert (message["photo"][-1]["width"], message["caption"]) == (800, "pH <7.4>")
    assert message["reply_markup"]


async def test_a_document_goes_up_under_its_name(channel: TelegramChannel, ada: Person) -> None:
    await channel.send(with_made(ada.id, "The calendar.", Made(form="document", name="care.ics", content=b"BEGIN")))
    assert ada.messages[-1]["document"]["file_name"] == "care.ics"


async def test_words_too_long_for_a_caption_go_before_the_picture_and_once(
    api: BotApi, channel: TelegramChannel, ada: Person
) -> None:
    api.faults.order(Fault.flood(3), method="sendPhoto")
    long = with_made(ada.id, "word " * 300, Made(form="picture", name="chart.png", content=PNG))
    assert isinstance(await channel.send(long), Refusal)
    assert isinstance(await channel.send(long), Delivered)
    first, second = ada.messages[-2:]
    assert (first["text"] + " " + second["caption"]).split() == ["word"] * 300
    assert len(ada.messages) == len(ada.texts) == 2


async def test_a_picture_that_the_service_refuses_leaves_its_words(channel: TelegramChannel, ada: Person) -> None:
    broken = Made(form="picture", name="chart.png", content=b"no picture at all")
    assert isinstance(await channel.send(with_made(ada.id, "pH 7.4", broken)), Delivered)
    assert ada.texts[-1] == "pH 7.4"
    assert ada.messages[-1]["reply_markup"]


async def test_a_row_of_ten_is_broken(channel: TelegramChannel, ada: Person) -> None:
    await channel.send(parcel(ada.id, "Which?", [str(n) for n in range(10)]))
    assert [len(row) for row in ada.messages[-1]["reply_markup"]["inline_keyboard"]] == [8, 2]


async def test_a_long_message_comes_in_parts_with_its_buttons_on_the_last(
    channel: TelegramChannel, ada: Person
) -> None:
    lines = [f"line {n} \N{BATHTUB} <b>" for n in range(600)]
    sent = await channel.send(parcel(ada.id, "\n".join(lines), ["Done"]))
    assert len(ada.texts) > 1
    assert "\n".join(ada.texts).split("\n") == lines
    assert ["reply_markup" in message for message in ada.messages] == [False] * (len(ada.messages) - 1) + [True]
    assert sent == Delivered(reference=str(ada.messages[-1]["message_id"]))


async def test_a_message_refused_half_way_goes_on_where_it_stopped(
    api: BotApi, channel: TelegramChannel, ada: Person
) -> None:
    text = "\n".join(f"line {n} of a long story" for n in range(600))
    api.faults.order(Fault.flood(3), method="sendMessage", skip=1)
    first = await channel.send(parcel(ada.id, text, number=9))
    assert isinstance(first, Refusal)
    assert (first.kind, first.seconds, first.everyone) == ("later", 3, True)
    assert isinstance(await channel.send(parcel(ada.id, text, number=9)), Delivered)
    assert "\n".join(ada.texts) == text


async def test_a_message_cut_off_half_way_goes_on_where_it_stopped(
    api: BotApi, channel: TelegramChannel, ada: Person
) -> None:
    text = "\n".join(f"line {n} of a long story" for n in range(600))
    api.faults.order(Fault.hang(), method="sendMessage", skip=2)
    sending = asyncio.create_task(channel.send(parcel(ada.id, text, number=9)))
    await api.until(lambda: len(api.ledger.calls_of("sendMessage")) == 3)
    sending.cancel()
    await asyncio.wait([sending])
    assert isinstance(await channel.send(parcel(ada.id, text, number=9)), Delivered)
    assert "\n".join(ada.texts) == text


async def test_a_message_without_words_and_a_strange_address_are_bad(channel: TelegramChannel, ada: Person) -> None:
    for impossible in (parcel(ada.id, " \n "), parcel("ada", "hi")):
        answer = await channel.send(impossible)
        assert isinstance(answer, Refusal)
        assert answer.kind == "bad"


async def test_data_that_is_too_long_in_bytes_is_bad(channel: TelegramChannel, ada: Person) -> None:
    wide = parcel(ada.id, "hi")
    wide = wide.model_copy(
        update={"message": wide.message.model_copy(update={"buttons": ((Button(label="x", data="é" * 40),),)})}
    )
    answer = await channel.send(wide)
    assert isinstance(answer, Refusal)
    assert (answer.kind, "BUTTON_DATA_INVALID" in answer.why.upper()) == ("bad", True)


@pytest.mark.parametrize(
    ("fault", "kind"),
    [
        (Fault.blocked(), "blocked"),
        (Fault.deactivated(), "gone"),
        (Fault.kicked(), "blocked"),
        (Fault.bad_request("chat not found"), "gone"),
        (Fault.bad_request("not enough rights to send text messages to the chat"), "blocked"),
        (Fault.bad_request("CHAT_RESTRICTED"), "blocked"),
        (Fault.bad_request("message is too long"), "bad"),
        (Fault.bad_request("can't parse entities: Unsupported start tag"), "bad"),
        (Fault.flood(7), "later"),
        (Fault.refuse(Answer(401, "Unauthorized")), "broken"),
        (Fault.server_error(500), "failed"),
        (Fault.server_error(502), "failed"),
        (Fault.gateway(502), "failed"),
        (Fault.gateway(503), "failed"),
        (Fault.gateway(504), "unknown"),
        (Fault.drop(), "unknown"),
        (Fault.drop(after_the_work=True), "unknown"),
        (Fault.half(), "unknown"),
        (Fault.garbled(), "unknown"),
    ],
)
async def test_every_refusal_says_what_it_means(
    api: BotApi, channel: TelegramChannel, ada: Person, fault: Fault, kind: str
) -> None:
    api.faults.order(fault, method="sendMessage")
    answer = await channel.send(parcel(ada.id, "hi"))
    assert isinstance(answer, Refusal)
    assert answer.kind == kind
    assert api.token not in answer.why
    assert isinstance(await channel.send(parcel(ada.id, "hi")), Delivered)


async def test_a_group_that_moved_tells_where_to(api: BotApi, channel: TelegramChannel) -> None:
    tom = api.person("Tom")
    crew = api.group("Crew", supergroup=False)
    crew.adds_bot(tom)
    old = crew.id
    crew.becomes_supergroup(tom)
    answer = await channel.send(parcel(old, "hi"))
    assert isinstance(answer, Refusal)
    assert (answer.kind, answer.chat) == ("moved", str(crew.id))
    assert isinstance(await channel.send(parcel(crew.id, "hi")), Delivered)


async def test_a_flooded_group_does_not_stop_the_others(api: BotApi, channel: TelegramChannel) -> None:
    tom = api.person("Tom")
    crew = api.group("Crew")
    crew.adds_bot(tom)
    api.faults.order(Fault.flood(5), method="sendMessage")
    answer = await channel.send(parcel(crew.id, "hi"))
    assert isinstance(answer, Refusal)
    assert (answer.seconds, answer.everyone) == (5, False)


async def test_nobody_at_the_other_end_means_later(api: BotApi) -> None:
    deaf = TelegramChannel(api.token, "dealer-1", now=WallClock().now, api_url="http://127.0.0.1:9", retry_seconds=[60])

    async def receive(_: object) -> bool:
        raise AssertionError("nothing can arrive")

    await deaf.start(receive)
    answer = await deaf.send(parcel(5, "hi"))
    await deaf.stop()
    assert isinstance(answer, Refusal)
    assert answer.kind == "later"


async def test_a_hundred_at_once_wait_for_their_turn_and_all_arrive(
    api: BotApi, channel: TelegramChannel, ada: Person
) -> None:
    sent = await asyncio.gather(*(channel.send(parcel(ada.id, str(n), number=n)) for n in range(100)))
    assert all(isinstance(answer, Delivered) for answer in sent)
    assert sorted(ada.texts, key=int) == [str(n) for n in range(100)]


async def test_the_menu_is_shown_in_each_language_and_a_refused_one_stops_nothing(api: BotApi) -> None:
    menu = {"": [("test", "Test the water")], "fr": [("test", "Tester l'eau")], "de": [("Bad Name", "x")]}
    channel = TelegramChannel(api.token, "dealer-1", now=WallClock().now, api_url=api.url, menu=menu, poll_seconds=1)
    desk = Desk()
    await channel.start(desk.receive)
    api.person("Ada").writes("hi")
    await desk.until(1)
    await channel.stop()
    assert {command["description"] for commands in api.commands.values() for command in commands} == {
        "Test the water",
        "Tester l'eau",
    }


async def test_typing_is_shown_and_its_failure_is_nothing(api: BotApi, channel: TelegramChannel, ada: Person) -> None:
    await channel.busy_with(parcel(ada.id, "hi").address)
    api.faults.order(Fault.gateway(), method="sendChatAction")
    await channel.busy_with(parcel(ada.id, "hi").address)
    await channel.busy_with(parcel("nobody", "hi").address)
    assert [call.outcome for call in api.ledger.calls_of("sendChatAction")] == ["ok", "fault: page"]


async def test_a_file_that_somebody_sent_is_fetched_whole(channel: TelegramChannel, ada: Person) -> None:
    content = "name;phone\nMüller;1\n".encode("cp1252")
    sent = ada.sends_file("document", "owners.csv", content)["document"]
    assert await channel.fetch(File(what="document", reference=sent["file_id"], name="owners.csv")) == content


async def test_a_file_that_is_gone_or_too_large_is_nothing(channel: TelegramChannel, ada: Person) -> None:
    large = ada.sends_file("document", "owners.csv", b"x", size=30_000_000)["document"]
    assert await channel.fetch(File(what="document", reference=large["file_id"])) is None
    assert await channel.fetch(File(what="document", reference=large["file_id"], size=30_000_000)) is None
    assert await channel.fetch(File(what="document", reference="nothing-of-that-name")) is None


async def test_a_message_that_shows_a_state_is_changed_in_place(channel: TelegramChannel, ada: Person) -> None:
    first = await channel.send(parcel(ada.id, "1 of 2", ["Pause"]))
    assert isinstance(first, Delivered)
    second = parcel(ada.id, "2 of 2 <done>", ["Report"]).model_copy(update={"edits": first.reference})
    assert await channel.send(second) == Delivered(reference=first.reference)
    assert await channel.send(second) == Delivered(reference=first.reference)  # the same again is no fault
    assert ada.texts == ["2 of 2 <done>"]
    assert ada.labels == ["Report"]


async def test_where_it_is_there_no_more_a_new_one_is_sent(channel: TelegramChannel, ada: Person) -> None:
    sent = await channel.send(parcel(ada.id, "2 of 2").model_copy(update={"edits": "4711"}))
    assert isinstance(sent, Delivered)
    assert sent.reference != "4711"
    assert ada.texts == ["2 of 2"]
