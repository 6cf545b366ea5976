"""What is kept for a time is forgotten after it: words and files go, what the tub went through stays."""

import pytest

from bot.model.conversation import Conversation
from bot.model.dealer import Keep
from bot.model.event import File
from bot.model.fact import CaseCleared, CaseNoted, CaseOpened, CaseReopened, CaseSaid, Fact, Filled, Noted
from bot.model.known import Outcome
from bot.model.trail import Acted, InvitesIssued, OwnersBrought, RoundOrdered
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, send_all, settle
from tests.store.contract.rounds import started, writes
from tests.store.samples import NOON, entry, later, message, wrote

KEEP = Keep(messages=10, words=60, files=40, cases=50, audit=400)
WORDS = "blue heron"
PHOTO = File(what="photo", reference="f1", name=WORDS)


async def forgotten(store: Store, *, days: float, keep: Keep = KEEP) -> int:
    """Forget all that is older than wanted then; how many rows it was."""
    gone, now = 0, later(days=days)
    while some := await store.forget("north", keep, now, limit=2):
        gone += some
    return gone


async def kept(store: Store) -> dict[str, Fact]:
    return {one.key: one.fact for _, one in await store.journal("north")}


async def a_case(store: Store, *, ends: float = 1, tub: str | None = "cedar") -> None:
    """A case of words and a photo, which ends after so many days."""
    facts: dict[str, Fact] = {
        "open": CaseOpened(case="k", klass="question", reasons=("asked",), text=WORDS),
        "said": CaseSaid(case="k", side="owner", text=WORDS, files=(PHOTO,)),
        "other": CaseSaid(case="another", side="owner", text="stays"),
        "noted": CaseNoted(case="k", text=WORDS),
        "fill": Filled(litres=1300),
    }
    cleared = entry(
        "over", CaseCleared(case="k", by="staff", reason="solved", note=WORDS), tub=tub, at=later(days=ends)
    )
    await store.write([*(entry(key, fact, tub=tub) for key, fact in facts.items()), cleared])


class KeepingContract(StoreRooms):
    async def test_messages_are_forgotten_after_their_days_and_what_waits_is_kept(self, store: Store):
        await settle(store, "1", Outcome(messages=(message("a"), message("b", to="bo"))))
        await send_all(store)
        await settle(store, "2", Outcome(messages=(message("waits"),)))
        await store.receive(wrote("3"))
        assert await forgotten(store, days=10) == 0
        assert await forgotten(store, days=10.1) == 4
        assert [parcel.message.text for parcel in await send_all(store)] == ["waits"]
        assert (await store.stock(NOON)).inbox == 1

    async def test_notes_are_forgotten_after_theirs(self, store: Store):
        own = [entry("own", Noted(text=WORDS), tub=None), *(entry(f"n{n}", Noted(text=WORDS)) for n in range(5))]
        await store.write([*own, entry("fill", Filled(litres=1300)), entry("late", Noted(text="x"), at=later(days=9))])
        assert await forgotten(store, days=60) == 0
        assert await forgotten(store, days=61) == 6
        assert set(await kept(store)) == {"fill", "late"}

    async def test_files_of_cases_go_and_what_was_said_with_them_stays(self, store: Store):
        await a_case(store)
        assert await forgotten(store, days=40) == 0
        assert await forgotten(store, days=41) == 1
        assert (await kept(store))["said"] == CaseSaid(case="k", side="owner", text=WORDS)

    @pytest.mark.parametrize("tub", ["cedar", None])
    async def test_a_closed_case_loses_its_words_and_stays_a_case(self, store: Store, tub: str | None):
        await a_case(store, tub=tub)
        await forgotten(store, days=51)
        assert WORDS in str(await kept(store))
        await forgotten(store, days=52)
        left = await kept(store)
        assert WORDS not in str(left)
        assert set(left) == {"open", "other", "fill", "over"}
        assert left["open"] == CaseOpened(case="k", klass="question", reasons=("asked",))
        assert left["over"] == CaseCleared(case="k", by="staff", reason="solved")

    async def test_a_case_that_is_open_again_keeps_its_words_until_it_ends_again(self, store: Store):
        await a_case(store)
        await store.write([entry("back", CaseReopened(case="k", entry="open"), at=later(days=5))])
        await forgotten(store, days=300)
        assert "noted" in await kept(store)
        await store.write([entry("over2", CaseCleared(case="k", by="staff"), at=later(days=301))])
        await forgotten(store, days=351)
        assert "noted" in await kept(store)
        await forgotten(store, days=352)
        assert "noted" not in await kept(store)

    async def test_who_did_what_at_the_desk_is_forgotten_last(self, store: Store):
        brought = OwnersBrought(file="l.csv", digest="d", new=1, changed=0, same=0, review=0, rejected=0)
        orders = [
            brought,
            InvitesIssued(what="issued", people=("ada",)),
            RoundOrdered(round="r1", order="start"),
            Acted(what="merged"),
        ]
        await store.write([entry(f"o{place}", fact, tub=None) for place, fact in enumerate(orders)])
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await send_all(store)
        await forgotten(store, days=500)
        assert await store.round_view("north", "r1") is not None, "it is not over"
        await store.finish_round("north", "r1", [], NOON)
        await forgotten(store, days=400)
        assert len(await store.round_rows("north", "r1")) == 3
        await forgotten(store, days=401)
        assert await store.round_view("north", "r1") is None
        assert await store.round_rows("north", "r1") == []
        assert await kept(store) == {}

    async def test_of_a_stranger_nothing_is_left(self, store: Store):
        for update, at in (("1", "77"), ("2", "1")):
            await store.receive(wrote(update, at=at))
            taken = await store.take(NOON)
            assert taken
            met = Outcome(conversation=Conversation(guesses=(NOON,)))
            await store.settle(taken, await store.known(taken.arrival), met, NOON)
        await forgotten(store, days=11)
        assert (await store.known(wrote("9", at="77"))).conversation == Conversation()
        assert (await store.known(wrote("9", at="1"))).conversation.guesses == (NOON,)

    async def test_what_is_kept_for_ever_is(self, store: Store):
        await a_case(store)
        await store.write([entry("note", Noted(text=WORDS))])
        before = await store.journal("north")
        for_ever = Keep.model_validate(dict.fromkeys(Keep.model_fields, 36500))
        assert await forgotten(store, days=20 * 365, keep=for_ever) == 0
        assert await store.journal("north") == before

    async def test_another_dealer_s_are_kept(self, store: Store):
        for dealer in ("north", "south"):
            note = entry("note", Noted(text=WORDS), tub=None, person=None).model_copy(update={"dealer": dealer})
            await store.write([note])
        await forgotten(store, days=999)
        assert await kept(store) == {}
        assert len(await store.journal("south")) == 1
