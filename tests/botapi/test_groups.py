"""Groups, topics, and moving house."""

import pytest
from telegram import Bot
from telegram.error import ChatMigrated, Forbidden

from tests.botapi import BotApi
from tests.botapi.expect import refused
from tests.botapi.groups import Group
from tests.botapi.people import Person


@pytest.fixture
def tom(api: BotApi) -> Person:
    return api.person("Tom")


@pytest.fixture
def forum(api: BotApi, tom: Person) -> Group:
    group = api.group("Crew", forum=True)
    group.adds_bot(tom, admin=True)
    return group


async def test_by_privacy_mode_only_commands_and_replies_are_seen(api: BotApi, bot: Bot, tom: Person) -> None:
    crew = api.group("Crew")
    crew.adds_bot(tom)
    crew.joins(tom)
    asked = await bot.send_message(crew.id, "Who goes?")
    tom.writes("me", into=crew)
    tom.writes("me!", into=crew, reply_to=crew.messages[-1])
    tom.writes("/take", into=crew)
    tom.writes("/take@another_bot", into=crew)
    seen = [update.message for update in await bot.get_updates() if update.message and update.message.text]
    assert [message.text for message in seen] == ["me!", "/take"]
    assert seen[0].reply_to_message.message_id == asked.message_id


async def test_topics_are_made_written_to_closed_and_deleted(bot: Bot, tom: Person, forum: Group) -> None:
    topic = await bot.create_forum_topic(forum.id, "Ada's tub")
    thread = topic.message_thread_id
    message = await bot.send_message(forum.id, "cloudy", message_thread_id=thread)
    assert (message.is_topic_message, message.message_thread_id) == (True, thread)
    assert await bot.edit_forum_topic(forum.id, thread, name="Ada's tub: done")
    assert await bot.close_forum_topic(forum.id, thread)
    with refused("topic_closed"):
        await bot.send_message(forum.id, "late", message_thread_id=thread)
    await bot.reopen_forum_topic(forum.id, thread)
    forum.deletes_topic(forum.chat.topics[thread])
    for gone in (thread, 1):
        with refused("message thread not found"):
            await bot.send_message(forum.id, "gone", message_thread_id=gone)
    assert (await bot.send_message(forum.id, "general")).is_topic_message is None


async def test_what_a_technician_writes_in_a_topic_says_which(bot: Bot, tom: Person, forum: Group) -> None:
    topic = forum.topic("Bo's tub", tom)
    tom.writes("on my way", into=forum, topic=topic)
    last = (await bot.get_updates())[-1].message
    assert (last.message_thread_id, last.is_topic_message, last.chat.is_forum) == (topic.id, True, True)


async def test_topics_need_a_forum_and_rights(api: BotApi, bot: Bot, tom: Person) -> None:
    plain, crowd = api.group("Plain"), api.group("Crowd", forum=True)
    plain.adds_bot(tom, admin=True)
    crowd.adds_bot(tom)
    with refused("not a forum"):
        await bot.create_forum_topic(plain.id, "x")
    with refused("not enough rights"):
        await bot.create_forum_topic(crowd.id, "x")


async def test_a_group_that_becomes_a_supergroup_moves(api: BotApi, bot: Bot, tom: Person) -> None:
    crew = api.group("Crew", supergroup=False)
    crew.adds_bot(tom)
    old = crew.id
    crew.becomes_supergroup(tom)
    with pytest.raises(ChatMigrated) as moved:
        await bot.send_message(old, "hi")
    assert moved.value.new_chat_id == crew.id
    notes = [update.message for update in await bot.get_updates() if update.message]
    assert [(note.migrate_to_chat_id, note.migrate_from_chat_id) for note in notes] == [(crew.id, None), (None, old)]
    assert (await bot.send_message(crew.id, "hi")).message_id == 2


async def test_being_thrown_out_silenced_or_deleted_is_refused_in_its_own_way(
    api: BotApi, bot: Bot, tom: Person
) -> None:
    crew = api.group("Crew")
    with pytest.raises(Forbidden, match="not a member of the supergroup"):
        await bot.send_message(crew.id, "hi")
    crew.adds_bot(tom)
    crew.silences_bot()
    with refused("not enough rights"):
        await bot.send_message(crew.id, "hi")
    crew.removes_bot(tom)
    with pytest.raises(Forbidden, match="kicked from the supergroup"):
        await bot.send_message(crew.id, "hi")
    assert (await bot.get_chat_member(crew.id, bot.id)).status == "kicked"
    crew.is_deleted()
    with pytest.raises(Forbidden, match="group chat was deleted"):
        await bot.send_message(crew.id, "hi")


async def test_an_anonymous_administrator_writes_in_the_group_s_name(bot: Bot, forum: Group) -> None:
    forum.writes_anonymously("please call her")
    message = (await bot.get_updates())[-1].message
    assert (message.from_user.id, message.sender_chat.id) == (1_087_968_824, forum.id)
