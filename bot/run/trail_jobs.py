"""The clerk's job around who did what."""

from datetime import timedelta

from pydantic import JsonValue

from bot.desk.trail import deeds, told, trail_csv
from bot.model.enclosure import Made
from bot.model.message import Message
from bot.model.sought import Seek
from bot.run.clerk import FAILED, Desk, Job, hand_over
from bot.talk.words import Words

MONTH = timedelta(days=30)


async def send(desk: Desk) -> JsonValue:
    """Send the last month: the newest in words, all of it as a table that is kept nowhere."""
    found = deeds(await desk.store.look_up(desk.dealer.key, Seek(what="trail", since=desk.now - MONTH)))
    words = Words.of(desk.person)
    text = words.text(told(found))
    if found:
        made = Made(form="document", name="audit.csv", content=trail_csv(found, words))
        return True if await hand_over(desk, text, made) else FAILED
    await desk.store.post(desk.dealer.key, [Message(to=desk.person.key, text=text)], desk.now)
    return True


JOBS: dict[str, Job] = {"audit.send": send}
