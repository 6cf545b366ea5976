"""What a store knows of the group of the dealer's people and of its topics."""

from bot.model.conversation import Conversation
from bot.model.event import Arrival, Blocked, Tapped, Wrote
from bot.model.fact import CaseOpened
from bot.model.group import GROUP_KEY, Place, Topic
from bot.model.known import Outcome
from bot.model.message import Delivered, Message, Parcel, Refusal
from bot.model.person import Person
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle, take
from tests.store.samples import CHANNEL, NOON, TOM, chat, entry, later, wrote

CREW = Person(key=GROUP_KEY, dealer="north", name="Crew", role="group", address=chat("-100"))
TOPIC = Topic(case="c1", name="Ada")


def there(update: str, *, by: str = "3", thread: str = "7", at: str = "-100") -> Arrival:
    return wrote(update, at=at).model_copy(update={"group": Place(by=by, thread=thread)})


async def post(store: Store, *texts: str, topic: Topic = TOPIC) -> None:
    messages = tuple(Message(to=GROUP_KEY, text=text, lane="alert", topic=topic) for text in texts)
    await settle(store, f"post {texts}", Outcome(messages=messages))


async def first(store: Store) -> Parcel:
    (parcel,) = await store.next_parcels(CHANNEL, NOON, 1)
    return parcel


class GroupContract(StoreRooms):
    async def test_a_group_is_known_to_everybody_and_is_none_of_the_staff(self, store: Store):
        await store.put("north", [CREW], [], [])
        for arrival in (wrote("1"), there("2")):
            known = await store.known(arrival)
            assert known.group == CREW
            assert known.staff == (TOM,)

    async def test_in_a_group_the_person_is_whoever_spoke(self, store: Store):
        await store.put("north", [CREW], [], [])
        known = await store.known(there("1"))
        assert (known.person, known.address) == (TOM, chat("-100"))
        assert (await store.known(there("2", by="99"))).person is None
        assert (await store.known(there("3", by=""))).person is None

    async def test_a_topic_once_opened_is_the_topic_of_all_that_follows_and_tells_the_case(self, store: Store):
        await store.put("north", [CREW], [], [])
        await post(store, "card", "more")
        opening = await first(store)
        assert opening.thread is None
        await store.delivered(opening, Delivered(thread="7"), NOON)
        assert (await first(store)).thread == "7"
        assert (await store.known(there("1"))).case_here == "c1"
        assert (await store.known(there("2", thread="8"))).case_here == ""
        assert (await store.known(there("3", at="-200"))).case_here == ""

    async def test_a_topic_that_was_opened_for_a_message_that_was_refused_is_kept(self, store: Store):
        await store.put("north", [CREW], [], [])
        await post(store, "card")
        await store.refused(await first(store), Refusal(kind="later", why="x", thread="7"), NOON, again_at=NOON)
        assert (await first(store)).thread == "7"

    async def test_a_topic_opened_anew_takes_the_place_of_the_one_that_went(self, store: Store):
        await store.put("north", [CREW], [], [])
        await post(store, "card", "more", "most")
        for thread in ("7", "9"):
            await store.delivered(await first(store), Delivered(thread=thread), NOON)
        assert (await first(store)).thread == "9"

    async def test_without_topics_the_message_that_is_replied_to_tells_the_case(self, store: Store):
        replied = wrote("1", at="-100").model_copy(update={"group": Place(by="3", case="c2")})
        assert (await store.known(replied)).case_here == "c2"

    async def test_a_group_that_moves_takes_what_waits_along_and_opens_its_topics_anew(self, store: Store):
        await store.put("north", [CREW], [], [])
        await post(store, "card", "more")
        await store.delivered(await first(store), Delivered(thread="7"), NOON)
        moving = await first(store)
        await store.refused(moving, Refusal(kind="moved", why="x", chat="-100200"), NOON, again_at=NOON)
        again = await first(store)
        assert (again.address, again.thread, again.message.text) == (chat("-100200"), None, "more")
        known = await store.known(there("1", at="-100200"))
        assert known.group is not None
        assert known.group.address == chat("-100200")

    async def test_everybody_has_a_conversation_of_their_own_in_each_topic_and_it_moves_with_the_group(
        self, store: Store
    ):
        await store.put("north", [CREW], [], [])
        await store.receive(there("1"))
        taken, known = await take(store)
        await store.settle(taken, known, Outcome(conversation=Conversation(serial=5)), NOON)
        assert (await store.known(there("2"))).conversation.serial == 5
        for other in (there("3", thread="8"), there("4", by="1"), wrote("5", at="3")):
            assert (await store.known(other)).conversation.serial == 0
        await post(store, "card")
        await store.refused(await first(store), Refusal(kind="moved", why="x", chat="-5"), NOON, again_at=NOON)
        assert (await store.known(there("6", at="-5"))).conversation.serial == 5

    async def test_the_group_itself_is_given_every_open_case(self, store: Store):
        await store.write([entry("opened", CaseOpened(case="c1", klass="stuck", reasons=(), text="green"))])
        left = wrote("1", at="-100").model_copy(update={"group": Place(), "event": Blocked()})
        assert [case.entry.key for case in (await store.known(left)).cases] == ["opened"]

    async def test_a_group_that_shuts_the_bot_out_is_closed_and_its_people_are_not(self, store: Store):
        await store.put("north", [CREW], [], [])
        await post(store, "card", "more")
        await store.refused(await first(store), Refusal(kind="blocked", why="kicked"), NOON, again_at=None)
        known = await store.known(wrote("1"))
        assert known.group is not None
        assert known.group.standing == "blocked"
        assert known.staff == (TOM,)
        assert await store.next_parcels(CHANNEL, later(hours=1), 5) == []

    async def test_who_is_shut_out_after_saying_stop_has_still_said_stop(self, store: Store):
        await store.put("north", [CREW.model_copy(update={"standing": "stopped"})], [], [])
        await post(store, "late")
        await store.refused(await first(store), Refusal(kind="blocked", why="kicked"), NOON, again_at=None)
        known = await store.known(wrote("1"))
        assert known.group is not None
        assert known.group.standing == "stopped"

    async def test_speaking_in_a_group_does_not_open_the_private_chat_again(self, store: Store):
        await store.put("north", [TOM.model_copy(update={"standing": "blocked"})], [], [])
        await store.receive(there("1").model_copy(update={"event": Tapped(data="x")}))
        taken, known = await take(store)
        await store.settle(taken, known, Outcome(), NOON)
        after = (await store.known(there("2"))).person
        assert after is not None
        assert after.standing == "blocked"

    async def test_what_was_said_in_a_group_is_kept_with_its_place(self, store: Store):
        said = there("1").model_copy(update={"event": Wrote(text="on my way")})
        await store.receive(said)
        taken, _ = await take(store)
        assert taken.arrival == said
