"""Every kind of update becomes one of our events, or is passed over on purpose."""

import pytest

from bot.channels.telegram import TelegramChannel
from bot.model.event import Began, Blocked, File, Sent, Tapped, Unblocked, Wrote
from bot.model.person import digest_of
from tests.botapi import BotApi
from tests.telegram.desk import Desk, parcel


async def test_a_text_arrives_with_who_when_and_in_which_language(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada = api.person("Ada", last_name="Brook", language_code="fr")
    message = ada.writes("7,4")
    [arrival] = await desk.until(1)
    assert arrival.event == Wrote(text="7,4")
    assert (arrival.address.channel, arrival.address.chat, arrival.dealer) == ("telegram", str(ada.id), "dealer-1")
    assert (arrival.name, arrival.language) == ("Ada Brook", "fr")
    assert arrival.at.timestamp() == message["date"]


async def test_a_deep_link_hands_on_only_the_digest_of_its_invite(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada = api.person("Ada")
    ada.starts("Zm9vYmFyYmF6cXV4MTIzNA")
    ada.starts()
    arrivals = await desk.until(2)
    assert desk.events == [Began(invite=digest_of("Zm9vYmFyYmF6cXV4MTIzNA")), Began()]
    assert "Zm9vYmFyYmF6cXV4MTIzNA" not in str([arrival.model_dump() for arrival in arrivals])


async def test_edits_and_forwarded_texts_are_marked(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    ada = api.person("Ada")
    first = ada.writes("74")
    ada.edits(first, "7.4")
    ada.writes("/start abc", forwarded_from="Somebody")
    await desk.until(3)
    assert desk.events == [
        Wrote(text="74"),
        Wrote(text="7.4", edited=True),
        Wrote(text="/start abc", forwarded=True),
    ]


async def test_a_press_carries_its_data_and_is_acknowledged(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    ada = api.person("Ada")
    ada.starts()
    await channel.send(parcel(ada.id, "Did you add it?", ["Done", "Stuck"]))
    press = ada.presses("Done")
    await desk.until(2)
    assert desk.events[-1] == Tapped(data="done")
    await api.until(lambda: api.queries[press["id"]].answered)


async def test_a_press_on_a_message_that_is_gone_still_counts(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada = api.person("Ada")
    ada.starts()
    await channel.send(parcel(ada.id, "Did you add it?", ["Done"]))
    message = ada.messages[-1]
    del ada.chat.posts[message["message_id"]]
    ada.presses("Done", on=message)
    arrivals = await desk.until(2)
    assert (arrivals[-1].event, arrivals[-1].address.chat) == (Tapped(data="done"), str(ada.id))


async def test_a_press_that_is_too_old_to_be_acknowledged_still_counts(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    api.query_seconds = -1
    ada = api.person("Ada")
    ada.starts()
    await channel.send(parcel(ada.id, "Did you add it?", ["Done"]))
    ada.presses("Done")
    await desk.until(2)
    await api.until(lambda: any("too old" in call.outcome for call in api.ledger.calls_of("answerCallbackQuery")))
    assert desk.events[-1] == Tapped(data="done")


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("voice", "voice"),
        ("audio", "audio"),
        ("video", "video"),
        ("animation", "video"),
        ("video_note", "video"),
        ("document", "document"),
        ("sticker", "sticker"),
    ],
)
async def test_a_file_arrives_as_what_it_is(
    api: BotApi, channel: TelegramChannel, desk: Desk, kind: str, what: str
) -> None:
    ada = api.person("Ada")
    ada.sends_file(kind, size=21_000_000)
    [arrival] = await desk.until(1)
    assert isinstance(arrival.event, Sent)
    [file] = arrival.event.files
    assert (file.what, file.size, file.reference in api.files.by_id) == (what, 21_000_000, True)


async def test_a_photo_arrives_in_its_largest_size_with_its_caption(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada = api.person("Ada")
    sent = ada.sends_photo(caption="is this cloudy?")
    await desk.until(1)
    largest = sent["photo"][-1]
    file = File(what="photo", reference=largest["file_id"], size=largest["file_size"])
    assert desk.events == [Sent(files=(file,), caption="is this cloudy?")]


async def test_places_contacts_and_unknown_things_arrive(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    ada = api.person("Ada")
    ada.sends_location(48.85, 2.35)
    contact = ada.sends_contact("+33100000000", "Bo")
    dice = ada.sends({"dice": {"emoji": "\N{GAME DIE}", "value": 3}})
    await desk.until(3)
    assert desk.events == [
        Sent(files=(File(what="location", reference="48.85,2.35"),)),
        Sent(files=(File(what="contact", reference=str(contact["message_id"])),)),
        Sent(files=(File(what="other", reference=str(dice["message_id"])),)),
    ]


async def test_parts_of_an_album_say_so_and_rest_until_the_next_may_have_come(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada, bo = api.person("Ada"), api.person("Bo")
    await api.until(lambda: bool(api.ledger.calls_of("getUpdates")))
    ada.sends_photo(caption="three views", album="77")
    await api.until(lambda: bool(api.ledger.handed))
    ada.sends_photo(album="77")
    bo.writes("hello")
    ada.sends_photo(album="77")
    await desk.until(4)
    await api.until(lambda: not api.ledger.unconfirmed())
    parts = [arrival.event for arrival in desk.arrivals if arrival.rests_until is not None]
    assert [(part.album, part.caption) for part in parts if isinstance(part, Sent)] == [
        ("77", "three views"),
        ("77", ""),
        ("77", ""),
    ]


async def test_blocking_and_unblocking_arrive(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    ada = api.person("Ada")
    ada.starts()
    ada.blocks()
    ada.unblocks()
    await desk.until(3)
    assert desk.events == [Began(), Blocked(), Unblocked()]


async def test_talk_in_groups_and_service_messages_are_passed_over(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    tom = api.person("Tom")
    crew = api.group("Crew", supergroup=False)
    crew.chat.bot_status = "administrator"
    crew.joins(tom)
    tom.writes("/start stolen", into=crew)
    tom.writes("has anybody seen my keys?", into=crew)
    crew.writes_anonymously("hello")
    tom.sends({"pinned_message": tom.writes("hi")})
    await desk.until(1)
    await api.until(lambda: not api.ledger.unconfirmed())
    assert desk.events == [Wrote(text="hi")]


async def test_only_the_kinds_that_are_understood_are_asked_for(api: BotApi, channel: TelegramChannel) -> None:
    await api.until(lambda: bool(api.ledger.calls_of("getUpdates")))
    assert api.updates.wanted == {"message", "edited_message", "callback_query", "my_chat_member"}


async def test_names_cannot_turn_the_text_around_them(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    api.person("Ada\u202e\x07" + "x" * 100).writes("hi")
    [arrival] = await desk.until(1)
    assert arrival.name == "Ada" + "x" * 61


async def test_half_a_character_does_not_stop_the_queue(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    api.person("Ada").writes("pH \ud83d 7.4")
    [arrival] = await desk.until(1)
    assert arrival.event == Wrote(text="pH ? 7.4")
