"""Groups over HTTP: what arrives from them, and messages into topics that open, close, vanish and are refused."""

import pytest

from bot.channels.telegram import TelegramChannel
from bot.channels.telegram.topics import LONGEST_NAME
from bot.model.event import Blocked, GroupMoved, GroupNamed, Sent, Tapped, Unblocked, Wrote
from bot.model.group import Place, Topic, Turn
from bot.model.message import Delivered, Parcel, Refusal
from bot.run.clock import WallClock
from tests.botapi import BotApi, Fault
from tests.botapi.chats import Topic as Thread
from tests.botapi.groups import Group
from tests.botapi.people import Person
from tests.telegram.desk import Desk, parcel


@pytest.fixture
def tom(api: BotApi) -> Person:
    return api.person("Tom")


@pytest.fixture
def forum(api: BotApi, tom: Person) -> Group:
    group = api.group("Crew", forum=True)
    group.chat.bot_status = "administrator"
    return group


def letter(
    group: Group, text: str, *, case: str = "ada-1", turn: Turn = "", card: bool = False, thread: str | None = None
) -> Parcel:
    made = parcel(group.id, text, ["Take it"])
    topic = Topic(case=case, name="Ada: green water", turn=turn, card=card)
    return made.model_copy(update={"message": made.message.model_copy(update={"topic": topic}), "thread": thread})


async def sent(channel: TelegramChannel, letter: Parcel) -> Delivered:
    answer = await channel.send(letter)
    assert isinstance(answer, Delivered), answer
    return answer


def threads(group: Group) -> list[Thread]:
    return list(group.chat.topics.values())


# -- what arrives


async def test_the_command_names_the_group_and_what_the_bot_may_do_in_it(
    api: BotApi, channel: TelegramChannel, desk: Desk, tom: Person
) -> None:
    plain, crowd, crew = api.group("Plain"), api.group("Crowd", forum=True), api.group("Crew", forum=True)
    plain.chat.bot_status = crew.chat.bot_status = "administrator"
    crowd.chat.bot_status = "member"
    for group in (plain, crowd, crew):
        tom.writes(f"/cases@{api.me.username}", into=group)
    tom.writes("/cases", into=crew)
    tom.writes("/cases@another_bot", into=crew)
    await desk.until(4)
    assert desk.events == [
        GroupNamed(title="Plain", has_topics=False, may_open=True),
        GroupNamed(title="Crowd", has_topics=True, may_open=False),
        GroupNamed(title="Crew", has_topics=True, may_open=True),
        GroupNamed(title="Crew", has_topics=True, may_open=True),
    ]
    assert [arrival.group for arrival in desk.arrivals] == [Place(by=str(tom.id))] * 4
    assert desk.arrivals[0].address.chat == str(plain.id)


async def test_rights_that_cannot_be_told_are_taken_for_given(
    api: BotApi, channel: TelegramChannel, desk: Desk, tom: Person, forum: Group
) -> None:
    api.faults.order(Fault.server_error(), method="getChatMember")
    tom.writes("/cases", into=forum)
    await desk.until(1)
    assert desk.events == [GroupNamed(title="Crew", has_topics=True, may_open=True)]


async def test_words_edits_albums_and_presses_in_a_topic_say_where_and_by_whom(
    channel: TelegramChannel, desk: Desk, tom: Person, forum: Group
) -> None:
    opened = await sent(channel, letter(forum, "card", card=True))
    topic = threads(forum)[0]
    said = tom.writes("on my way", into=forum, topic=topic)
    await desk.until(1)
    tom.edits(said, "on my way now")
    await desk.until(2)
    for _ in range(2):
        tom.sends_photo(album="a1", into=forum, topic=topic)
    await desk.until(4)
    tom.presses("Take it", on=forum.messages[-1])
    arrivals = await desk.until(5)
    assert desk.events[:2] == [Wrote(text="on my way"), Wrote(text="on my way now", edited=True)]
    assert [event.album for event in desk.events if isinstance(event, Sent)] == ["a1", "a1"]
    assert desk.events[4] == Tapped(data="take it")
    assert {arrival.group for arrival in arrivals} == {Place(by=str(tom.id), thread=str(opened.thread))}
    assert {arrival.address.chat for arrival in arrivals} == {str(forum.id)}


async def test_who_writes_in_the_group_s_name_is_nobody_in_particular(
    channel: TelegramChannel, desk: Desk, forum: Group
) -> None:
    await sent(channel, letter(forum, "card", card=True))
    thread = threads(forum)[0].id
    forum.writes_anonymously("/cases")
    await desk.until(1)
    assert desk.arrivals[0].group == Place()
    assert thread


async def test_without_topics_a_reply_tells_its_case_also_in_privacy_mode(
    api: BotApi, channel: TelegramChannel, desk: Desk, tom: Person
) -> None:
    plain = api.group("Plain")
    plain.chat.bot_status = "member"
    await sent(channel, letter(plain, "It is green."))
    assert plain.messages[-1]["text"] == "Ada: green water (ada-1)\nIt is green."
    tom.writes("filter first", into=plain, reply_to=plain.messages[-1])
    tom.writes("lunch?", into=plain)
    fake = tom.writes("Ada: green water (bo-1)", into=plain)
    tom.writes("hm", into=plain, reply_to=fake)
    await desk.until(1)
    await api.until(lambda: not api.ledger.unconfirmed())
    assert [(arrival.event, arrival.group) for arrival in desk.arrivals] == [
        (Wrote(text="filter first"), Place(by=str(tom.id), case="ada-1"))
    ]


async def test_coming_going_and_moving_are_told(api: BotApi, channel: TelegramChannel, desk: Desk, tom: Person) -> None:
    crew = api.group("Crew", supergroup=False)
    old = crew.id
    crew.adds_bot(tom)
    crew.becomes_supergroup(tom)
    await desk.until(3)
    crew.removes_bot(tom)
    arrivals = await desk.until(4)
    moves = [GroupMoved(to=str(crew.id), arrived=arrived) for arrived in (False, True)]
    assert desk.events == [Unblocked(), *moves, Blocked()]
    assert [arrival.address.chat for arrival in arrivals] == [str(old), str(old), str(old), str(crew.id)]
    assert arrivals[0].group == Place(by=str(tom.id))


# -- what is sent


async def test_the_first_message_of_a_case_opens_its_topic_and_the_others_follow(
    channel: TelegramChannel, forum: Group
) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    assert first.lapse == ""
    second = await sent(channel, letter(forum, "more"))  # the store has not been read again yet
    third = await sent(channel, letter(forum, "most", thread=first.thread))
    assert (second.thread, third.thread) == (first.thread, None)
    await sent(channel, letter(forum, "other", case="bo-1", card=True))
    assert [topic.name for topic in threads(forum)] == ["Ada: green water"] * 2
    into = [message["message_thread_id"] for message in forum.messages if message.get("text")]
    assert into == [int(str(first.thread))] * 3 + [threads(forum)[1].id]


async def test_a_topic_that_does_not_begin_with_its_card_says_so(channel: TelegramChannel, forum: Group) -> None:
    assert (await sent(channel, letter(forum, "more"))).lapse == "new"


async def test_a_topic_opened_for_a_message_that_then_failed_is_not_opened_twice(
    api: BotApi, channel: TelegramChannel, forum: Group
) -> None:
    api.faults.order(Fault.flood(3), method="sendMessage")
    refused = await channel.send(letter(forum, "card", card=True))
    assert isinstance(refused, Refusal)
    assert (refused.kind, refused.everyone) == ("later", False)
    assert refused.thread == str(threads(forum)[0].id)
    await sent(channel, letter(forum, "card", card=True, thread=refused.thread))
    assert len(threads(forum)) == 1


async def test_a_deleted_topic_is_opened_anew(channel: TelegramChannel, forum: Group) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    forum.deletes_topic(threads(forum)[0])
    again = await sent(channel, letter(forum, "more", thread=first.thread))
    assert again.thread not in (None, first.thread)
    assert again.lapse == "new"
    assert [message["text"] for message in forum.messages if "text" in message] == ["more"]


async def test_a_topic_closed_by_hand_is_opened_for_what_is_new(channel: TelegramChannel, forum: Group) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    threads(forum)[0].closed = True
    await sent(channel, letter(forum, "more", thread=first.thread))
    assert not threads(forum)[0].closed


async def test_the_last_message_closes_the_topic_and_the_next_opens_it(channel: TelegramChannel, forum: Group) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    await sent(channel, letter(forum, "ended", turn="close", thread=first.thread))
    assert threads(forum)[0].closed
    await sent(channel, letter(forum, "late", turn="close", thread=first.thread))
    assert threads(forum)[0].closed
    await sent(channel, letter(forum, "back", turn="open", card=True, thread=first.thread))
    assert not threads(forum)[0].closed
    assert [message["text"] for message in forum.messages if "text" in message] == ["card", "ended", "late", "back"]


@pytest.mark.parametrize("turn", ["open", "close"])
async def test_what_ends_or_begins_again_in_a_topic_that_is_gone_is_not_lost(
    channel: TelegramChannel, forum: Group, turn: Turn
) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    forum.deletes_topic(threads(forum)[0])
    await sent(channel, letter(forum, "more", turn=turn, thread=first.thread))
    assert forum.messages[-1]["text"].endswith("more")
    assert len(threads(forum)) == (1 if turn == "open" else 0)


async def test_an_end_that_could_not_be_closed_is_closed_later_and_said_once(
    api: BotApi, channel: TelegramChannel, forum: Group
) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    api.faults.order(Fault.flood(1), method="closeForumTopic")
    ending = letter(forum, "ended", turn="close", thread=first.thread)
    assert isinstance(await channel.send(ending), Refusal)
    await sent(channel, ending)
    assert threads(forum)[0].closed
    assert [message["text"] for message in forum.messages if "text" in message] == ["card", "ended"]


@pytest.mark.parametrize(("forum", "lapse"), [(False, "no_topics"), (True, "no_rights")])
async def test_without_topics_or_rights_it_goes_to_all_with_the_case_in_front_and_is_asked_once_a_minute(
    api: BotApi, channel: TelegramChannel, forum: bool, lapse: str
) -> None:
    crowd = api.group("Crowd", forum=forum)
    crowd.chat.bot_status = "member"
    lapses = [(await sent(channel, letter(crowd, text))).lapse for text in ("card", "more")]
    assert lapses == [lapse, ""]
    assert [message["text"] for message in crowd.messages] == [
        "Ada: green water (ada-1)\ncard",
        "Ada: green water (ada-1)\nmore",
    ]
    assert len(api.ledger.calls_of("createForumTopic")) == 1


async def test_a_group_that_became_another_and_one_that_shut_the_bot_out_say_so(
    api: BotApi, channel: TelegramChannel, tom: Person, forum: Group
) -> None:
    small = api.group("Small", supergroup=False)
    small.chat.bot_status = "administrator"
    old = letter(small, "card")
    small.becomes_supergroup(tom)
    answer = await channel.send(old)
    assert isinstance(answer, Refusal)
    assert (answer.kind, answer.chat) == ("moved", str(small.id))
    forum.chat.bot_status = "kicked"
    out = await channel.send(letter(forum, "card"))
    assert isinstance(out, Refusal)
    assert out.kind == "blocked"


async def test_a_long_name_is_cut_to_what_a_topic_may_be_called(channel: TelegramChannel, forum: Group) -> None:
    long = letter(forum, "card")
    topic = Topic(case="ada-1", name="é" * 300)
    await sent(channel, long.model_copy(update={"message": long.message.model_copy(update={"topic": topic})}))
    assert len(threads(forum)[0].name) == LONGEST_NAME


async def test_a_photo_of_an_owner_goes_into_the_topic_by_its_number(
    channel: TelegramChannel, desk: Desk, tom: Person, forum: Group
) -> None:
    tom.sends_photo()
    (arrival,) = await desk.until(1)
    assert isinstance(arrival.event, Sent)
    first = await sent(channel, letter(forum, "card", card=True))
    photo = letter(forum, "Ada:", thread=first.thread)
    photo = photo.model_copy(update={"message": photo.message.model_copy(update={"file": arrival.event.files[0]})})
    await sent(channel, photo)
    assert "photo" in forum.messages[-1]
    assert forum.messages[-1]["message_thread_id"] == int(str(first.thread))


async def test_a_video_larger_than_any_upload_goes_into_the_topic_by_its_number(
    api: BotApi, channel: TelegramChannel, desk: Desk, tom: Person, forum: Group
) -> None:
    tom.sends_file("video", "pump.mp4", size=900_000_000)
    (arrival,) = await desk.until(1)
    assert isinstance(arrival.event, Sent)
    video = letter(forum, "Ada:", card=True)
    video = video.model_copy(update={"message": video.message.model_copy(update={"file": arrival.event.files[0]})})
    await sent(channel, video)
    assert "video" in forum.messages[-1]
    assert not api.ledger.calls_of("getFile")


async def test_groups_have_a_menu_of_their_own(api: BotApi) -> None:
    menus = {"menu": {"en": [("test", "Test the water")]}, "group_menu": {"en": [("cases", "Have cases come here")]}}
    made = TelegramChannel(api.token, "dealer-1", now=WallClock().now, api_url=api.url, poll_seconds=5, **menus)  # type: ignore[arg-type]
    await made.start(Desk().receive)
    await made.stop()
    shown = {scope: [command["command"] for command in commands] for scope, commands in api.commands.items()}
    assert sorted(shown.values()) == [["cases"], ["test"]]


async def test_a_topic_that_is_removed_takes_its_messages_along_and_the_word_of_it_goes_to_all(
    api: BotApi, channel: TelegramChannel, forum: Group
) -> None:
    first = await sent(channel, letter(forum, "card", card=True))
    for thread in (first.thread, first.thread, None):
        await sent(channel, letter(forum, "erased", turn="remove", thread=thread))
    assert threads(forum) == []
    assert [(message["text"], message.get("message_thread_id")) for message in forum.messages] == [("erased", None)] * 3
