"""Two dealers on one store, alike to the last key: whatever is done for one, the other's rows stay as they are, and
every answer is the one that a store of its own would give.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from bot.model.dealer import Keep
from bot.model.due import Due
from bot.model.errand import Errand
from bot.model.event import Returned
from bot.model.fact import CaseOpened
from bot.model.known import Outcome
from bot.model.message import Delivered, Message, Refusal
from bot.model.person import Invite, digest_of
from bot.model.round import Candidate, Chosen, Put, Round
from bot.model.sought import Seek
from bot.store.contract import Store
from bot.store.sql.move import rows_of, tables
from tests.store.contract.rooms import StoreRooms
from tests.store.samples import ADA, BIRCH, BO, CEDAR, CHANNEL, FLO, NOON, NORTH, SOUTH, TOM, chat, entry, later, wrote

NOT_A_DEALER_S = {
    "open", "close", "take_over", "reserve", "hear", "let_go", "next_moment", "depths", "tidy", "dealers",
    "rounds_at_work", "stock",
}  # fmt: skip
"""What concerns the whole store: its own workings, and what services look at to know where there is work."""


class Watched:
    """A store whose calls are noted by name."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.called: set[str] = set()

    def __getattr__(self, name: str) -> Any:
        self.called.add(name)
        return getattr(self._store, name)


def of(dealer: str, record: Any) -> Any:
    return record.model_copy(update={"dealer": dealer})


async def furnish(store: Store, dealer: str) -> None:
    """People, tubs, an invite, a memory and some journal."""
    await store.put_dealer(of_dealer(dealer))
    people, tubs = [of(dealer, one) for one in (ADA, BO, TOM, FLO)], [of(dealer, one) for one in (CEDAR, BIRCH)]
    await store.put(dealer, people, tubs, [("ada", "cedar"), ("bo", "birch")])
    await store.put_invite(invite(dealer, "a"))
    await store.put_invites([invite(dealer, "b")])
    await store.remember(dealer, "sheet", {"of": dealer})
    opened = CaseOpened(case="k", klass="question", reasons=(), text="help")
    await store.write([of(dealer, entry("first")), of(dealer, entry("second", opened))])


def of_dealer(dealer: str) -> Any:
    return NORTH if dealer == "north" else SOUTH


def invite(dealer: str, secret: str) -> Invite:
    return Invite(digest=digest_of(secret), dealer=dealer, expires=later(days=1), person="flo")


async def live(store: Any, dealer: str, update: str) -> list[Any]:
    """Use every call of the contract for one dealer; everything that was answered."""
    said: list[Any] = []
    note: Callable[[Any], None] = said.append
    note(await store.receive(wrote(update, dealer=dealer)))
    note(await store.receive(wrote(f"{update} again", dealer=dealer)))
    await store.postpone(await store.take(NOON), NOON)
    taken = await store.take(NOON)
    known = await store.known(taken.arrival)
    note(known.model_copy(update={"mark": 0, "cases": tuple(one.entry for one in known.cases)}))
    outcome = Outcome(
        entries=(of(dealer, entry(f"lived {update}")),),
        messages=(Message(to="ada", text="one"), Message(to="bo", text="two")),
        set_dues=(Due(key="d", dealer=dealer, kind="timer", what="w", person="ada", tub="cedar", at=later(hours=1)),),
        errands=(Errand(key="e", dealer=dealer, person="ada", kind="look", what="look.0", args={}),),
        used_invite=(digest_of("b"), "flo"),
    )
    await store.settle(taken, known, outcome, NOON)
    again = await store.take(NOON)
    await store.give_up(again, "no", NOON, final=True)
    run = await store.take_errand(NOON, 60.0)
    note(run.errand)
    await store.retry_errand(run)
    run = await store.take_errand(NOON, 60.0)
    await store.finish_errand(run, Returned(errand="e", what="look.0", result=1), NOON)
    note(await store.ripen(later(hours=2)))
    note(await store.hold(dealer, CHANNEL, f"of {dealer}", NOON, 10))
    sent, refused = await store.next_parcels(CHANNEL, NOON, 5, dealer=dealer)
    note([sent.message.text, refused.message.text])
    await store.delivered(sent, Delivered(), NOON)
    moved = Refusal(kind="moved", why="moved", chat="-1002")
    await store.refused(refused, moved, NOON, again_at=NOON)
    note(await store.person(dealer, "bo"))
    note(await store.person_at(dealer, chat("1")))
    for what in ("team", "owners", "cases", "trail"):
        note(await store.look_up(dealer, Seek(what=what, since=NOON)))
    note(await store.owners(dealer))
    note(await store.sights(dealer))
    note(await store.poured(dealer))
    await store.bring_in(dealer, [(of(dealer, FLO), of(dealer, FLO.model_copy(update={"name": "F"})))], [], [], [])
    await store.merge(dealer, None, None, [])
    note(await store.open_invites(dealer))
    note(await store.withdraw_invites(dealer, [invite.digest for invite in await store.open_invites(dealer)], NOON))
    note(await store.memory(dealer, "sheet"))
    note([one.key for _, one in await store.journal(dealer)])
    await live_round(store, dealer, note)
    await store.post(dealer, [Message(to="ada", text="posted")], NOON)
    await store.receive(wrote(f"{update} last", at="77", dealer=dealer))
    while (taken := await store.take(NOON)) is not None:
        note(taken.arrival.event)
        last = taken.arrival.address == chat("77")
        await store.settle(taken, await store.known(taken.arrival), Outcome(erase=("bo",) if last else ()), NOON)
    note(await store.forget(dealer, Keep(), later(days=9999)))
    note(await store.person(dealer, "bo"))
    note(await store.about(dealer, "ada"))
    await store.erase(dealer, "ada", NOON)
    note(await store.about(dealer, "ada"))
    return said


async def live_round(store: Any, dealer: str, note: Callable[[Any], None]) -> None:
    await store.put_round(Round(key="r", dealer=dealer, by=None, made_at=NOON))
    while not await store.choose_round(dealer, "r", NOON, 100, lambda _: Chosen()):
        pass
    note(await store.order_round(dealer, "r", "start", NOON))
    await store.sweep_round(dealer, "r", NOON, 100, put)
    note([row.person for row in await store.round_rows(dealer, "r")])
    note(await store.round_view(dealer, "r"))
    note(len(await store.rounds(dealer)))
    note(await store.finish_round(dealer, "r", [], NOON))


def put(candidate: Candidate) -> Put:
    return Put(Message(to=candidate.person.key, lane="bulk", text="round", round="r"))


def rows(store: Any, dealer: str) -> list[Any]:
    """Every row of a dealer, whatever the engine."""
    with store.units.unit(writes=False) as unit:
        found = [(table.name, row) for table in tables() for row in rows_of(unit, table)]
    return [one for one in found if one[1].get("dealer", one[1].get("key")) == dealer]


class IsolationContract(StoreRooms):
    async def test_a_dealer_neither_sees_nor_touches_another_s(self, tmp_path: Path):
        answers = []
        for folder, dealers in ((tmp_path / "alone", ["north"]), (tmp_path / "shared", ["south", "north"])):
            folder.mkdir()
            store = self.make(folder)
            await store.open()
            for dealer in dealers:
                await furnish(store, dealer)
            before = rows(store, "south")
            watched = Watched(store)
            answers.append(await live(watched, "north", "7"))
            assert rows(store, "south") == before
            if dealers == ["south", "north"]:
                assert len(before) > 10
            missing = {name for name in dir(Store) if name[0] != "_"} - NOT_A_DEALER_S - watched.called
            assert not missing - {"put_dealer", "put", "put_invite", "put_invites", "remember", "write"}, missing
            await store.close()
        assert answers[0] == answers[1]
