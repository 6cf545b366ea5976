from bot.model.conversation import Conversation, OpenFlow
from bot.model.fact import CaseOpened, Corrected, Filled, Noted, Told
from bot.model.known import Outcome
from bot.model.person import Invite, Person, digest_of
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle, take, texts
from tests.store.samples import ADA, CEDAR, NOON, chat, due, entry, later, message, wrote

SECRET = "blue heron"
"""Words that only the person to be erased has used."""


async def live(store: Store) -> None:
    """Let Ada leave traces everywhere."""
    digest = digest_of("a secret")
    await store.put_invite(Invite(digest=digest, dealer="north", name=SECRET, tub="cedar", expires=later(days=9)))
    ada = ADA.model_copy(update={"name": SECRET})
    flow = OpenFlow(flow="weekly_test", serial=1, began=NOON, person=ada, tub=CEDAR)
    await store.receive(wrote("1", SECRET))
    taken, known = await take(store)
    outcome = Outcome(
        people=(ada,),
        used_invite=(digest, "ada"),
        entries=(
            entry("fill", Filled(litres=1300)),
            entry("note", Noted(text=SECRET)),
            entry("case", CaseOpened(case="c", klass="question", reasons=("asked",), text=SECRET)),
            entry("fixed", Corrected(of="note", fact=Noted(text=SECRET))),
            entry("told", Told(about="person", values={"name": SECRET})),
            entry("own", Noted(text=SECRET), tub=None),
        ),
        conversation=Conversation(flows=(flow,)),
        set_dues=(due("d", later(days=1)),),
        messages=(message(f"hello {SECRET}"), message(f"again {SECRET}", lane="reminder")),
    )
    await store.settle(taken, known, outcome, NOON)
    await store.receive(wrote("2", SECRET))


class ErasingContract(StoreRooms):
    async def erase(self, store: Store) -> None:
        await live(store)
        taken, known = await take(store)
        farewell = message("all removed", to="", address=chat("1"))
        await store.receive(wrote("3", SECRET))
        await store.settle(taken, known, Outcome(erase=("ada",), messages=(farewell, message("no"))), NOON)

    async def test_the_tub_s_facts_stay_without_the_person(self, store: Store):
        await self.erase(store)
        kept = {item.key: item for _, item in await store.journal("north")}
        assert set(kept) == {"fill", "case", "fixed"}
        assert kept["fill"].fact == Filled(litres=1300)
        assert {item.person for item in kept.values()} == {None}
        assert SECRET not in str(kept)

    async def test_to_the_house_the_chat_is_a_stranger_s(self, store: Store):
        await self.erase(store)
        known = await store.known(wrote("9"))
        assert (known.person, known.tub, known.journal, known.dues) == (None, None, (), ())
        assert known.conversation == Conversation()
        assert await store.next_moment(after=NOON) is None

    async def test_nothing_waits_but_the_last_word(self, store: Store):
        await self.erase(store)
        assert await store.take(NOON) is None
        assert await texts(store) == ["all removed"]

    async def test_a_repetition_of_an_erased_update_is_still_one(self, store: Store):
        await self.erase(store)
        for update in ("1", "2", "3"):
            assert not await store.receive(wrote(update, SECRET))

    async def test_the_invite_opens_nothing_any_more(self, store: Store):
        await self.erase(store)
        await store.receive(wrote("9", at="9"))
        assert (await store.known(wrote("9", at="9"))).invite is None

    async def test_the_same_chat_may_begin_anew(self, store: Store):
        await self.erase(store)
        new = Person(key="new", dealer="north", name="New", address=chat("1"))
        await settle(store, "9", Outcome(people=(new,), messages=(message("welcome", to="new"),)))
        assert await texts(store) == ["all removed", "welcome"]

    async def test_erasing_nobody_changes_nothing(self, store: Store):
        await settle(store, "9", Outcome(erase=("nobody",), messages=(message("fine"),)))
        assert await texts(store) == ["fine"]
