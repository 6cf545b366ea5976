"""The clerk: errands are done, failures are told, nothing stops the others."""

from pathlib import Path

from pydantic import JsonValue

from bot.model.enclosure import Made
from bot.model.errand import Errand
from bot.model.event import Returned
from bot.model.known import Outcome
from bot.model.message import Delivered, Refusal
from bot.run.clerk import FAILED, TRIES, Clerk, Desk, hand_over
from bot.store.sqlite import SqliteStore
from tests.run.scenes import Line, a_store, answers
from tests.store.samples import CHANNEL, NOON, wrote


async def ask(store: SqliteStore, kind: str, update: str = "u1") -> None:
    await store.receive(wrote(update))
    taken = await store.take(NOON)
    assert taken is not None
    errand = Errand(key=update, dealer="north", person="ada", kind=kind, what="it")
    await store.settle(taken, await store.known(taken.arrival), Outcome(errands=(errand,)), NOON)


async def came(store: SqliteStore) -> list[JsonValue]:
    found = []
    while taken := await store.take(NOON):
        if isinstance(taken.arrival.event, Returned):
            found.append(taken.arrival.event.result)
        await store.settle(taken, await store.known(taken.arrival), Outcome(), NOON)
    return found


async def test_a_job_knows_who_asked_and_its_result_comes_back(tmp_path: Path):
    async def job(desk: Desk) -> JsonValue:
        return f"{desk.person.name} of {desk.dealer.name}"

    async with a_store(tmp_path) as store:
        await ask(store, "greet")
        assert await Clerk(store, lambda _: {}, {"greet": job}).run_until_idle(NOON) == 1
        assert await came(store) == ["Ada of North Quay Tubs"]


async def test_what_fails_is_tried_again_then_told_and_the_next_is_done(tmp_path: Path):
    tries = 0

    async def broken(desk: Desk) -> JsonValue:
        nonlocal tries
        tries += 1
        raise ValueError("no")

    async def job(desk: Desk) -> JsonValue:
        return "done"

    async with a_store(tmp_path) as store:
        await ask(store, "broken")
        await ask(store, "fine", "u2")
        await ask(store, "unheard of", "u3")
        await Clerk(store, lambda _: {}, {"broken": broken, "fine": job}).run_until_idle(NOON)
        assert tries == TRIES
        assert sorted(map(str, await came(store))) == sorted(map(str, [FAILED, "done", FAILED]))


async def test_a_file_is_handed_over_past_the_outbox_and_kept_nowhere(tmp_path: Path):
    line = Line(answers(Refusal(kind="later", why="busy", seconds=0.0), Delivered()))
    results = []

    async def job(desk: Desk) -> JsonValue:
        results.append(await hand_over(desk, "here", Made(form="document", name="x.csv", content=b"secret")))
        return True

    async with a_store(tmp_path) as store:
        await ask(store, "send")
        await Clerk(store, lambda _: {CHANNEL: line}, {"send": job}).run_until_idle(NOON)
        assert results == [True]
        assert [parcel.made.content for parcel in line.sent if parcel.made] == [b"secret", b"secret"]
        assert not any((await store.depths()).values())
    assert all(b"secret" not in path.read_bytes() for path in tmp_path.iterdir())


async def test_a_refused_file_is_told_as_not_sent(tmp_path: Path):
    async def job(desk: Desk) -> JsonValue:
        return await hand_over(desk, "here", Made(form="document", name="x.csv", content=b""))

    async with a_store(tmp_path) as store:
        await ask(store, "send")
        line = Line(answers(Refusal(kind="blocked", why="gone")))
        await Clerk(store, lambda _: {CHANNEL: line}, {"send": job}).run_until_idle(NOON)
        assert await came(store) == [False]
