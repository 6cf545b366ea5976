"""The clerk's job for somebody who wants to have what is stored on them."""

from json import dumps

from pydantic import JsonValue

from bot.model.enclosure import Made
from bot.model.trail import Acted
from bot.run.clerk import Desk, Job, hand_over
from bot.run.trail import note
from bot.talk.words import Words, line


async def send_all(desk: Desk) -> JsonValue:
    """Send everything as one file, past the outbox, so that no second copy of it is kept."""
    fact = Acted(what="exported", about=(desk.person.key,))
    await note(desk.store, desk.dealer.key, fact, desk.now, by=desk.person.key, via="errand")
    stored = await desk.store.about(desk.dealer.key, desk.person.key)
    made = Made(form="document", name="my-data.json", content=dumps(stored, indent=1, ensure_ascii=False).encode())
    return await hand_over(desk, Words.of(desk.person).text(line("my_data.here")), made)


JOBS: dict[str, Job] = {"privacy.export": send_all}
