"""How often people are answered, so that a flood by some of them costs little and keeps nobody else waiting.

Each person has a pace of their own, with a minute's worth at once; all whom nobody knows share one more. Whoever is
beyond it waits for their turn, and what they write meanwhile is answered together. What the house itself brings about
(timers, reminders, errands) has no pace.
"""

from collections import OrderedDict
from datetime import datetime, timedelta

from bot.model.event import Arrival, Fell, GroupLapsed, Returned

MINUTE = timedelta(minutes=1)
MOST_REMEMBERED = 10_000
"""People whose last minute is remembered, and strangers who have a turn: what memory it takes is bounded."""
OWN = (Fell, Returned, GroupLapsed)

Who = tuple[str, str, str, str]


class Crowd:
    """Paces. `each`: answers a minute to one person; `strangers`: to all together whom nobody knows."""

    def __init__(self, each: int = 30, strangers: int = 120) -> None:
        self._each = MINUTE / each
        self._strangers = MINUTE / strangers
        self._spent: OrderedDict[Who, datetime] = OrderedDict()
        """Until when each has used up their pace."""
        self._strangers_spent: datetime | None = None
        self._turns: OrderedDict[Who, datetime] = OrderedDict()
        """When it is the turn of strangers who were told to wait."""

    def turn(self, arrival: Arrival, now: datetime) -> datetime:
        """When this may be handled as far as its sender's own pace goes: `now`, which is then used, or later."""
        if isinstance(arrival.event, OWN):
            return now
        who = _who(arrival)
        spent = max(self._spent.get(who, now), now)
        if spent - now > MINUTE - self._each:
            return spent - MINUTE + self._each
        self._spent[who] = spent + self._each
        self._spent.move_to_end(who)
        if len(self._spent) > MOST_REMEMBERED:
            self._spent.popitem(last=False)
        return now

    def turn_of_stranger(self, arrival: Arrival, now: datetime) -> datetime:
        """The same for somebody whom nobody knows. Each who has to wait gets a turn of their own, in order."""
        who = _who(arrival)
        given = self._turns.get(who)
        if given is not None:
            if given <= now:
                del self._turns[who]
                return now
            return given
        spent = max(self._strangers_spent or now, now)
        turn = max(spent - MINUTE + self._strangers, now)
        self._strangers_spent = spent + self._strangers
        if turn > now:
            self._turns[who] = turn
            if len(self._turns) > MOST_REMEMBERED:
                self._turns.popitem(last=False)
        return turn


def _who(arrival: Arrival) -> Who:
    by = arrival.group.by if arrival.group else ""
    return arrival.dealer, arrival.address.channel, arrival.address.chat, by
