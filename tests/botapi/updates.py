"""The queue of updates: ids, confirmation by offset, kinds that were asked for, what is kept for how long."""

from collections.abc import Callable
from dataclasses import dataclass, field

from tests.botapi.clock import Clock
from tests.botapi.errors import Json, bad_request
from tests.botapi.ledger import Handed, Ledger

KINDS = (
    "message",
    "edited_message",
    "channel_post",
    "edited_channel_post",
    "business_connection",
    "business_message",
    "edited_business_message",
    "deleted_business_messages",
    "message_reaction",
    "message_reaction_count",
    "inline_query",
    "chosen_inline_result",
    "callback_query",
    "shipping_query",
    "pre_checkout_query",
    "purchased_paid_media",
    "poll",
    "poll_answer",
    "my_chat_member",
    "chat_member",
    "chat_join_request",
    "chat_boost",
    "removed_chat_boost",
    "managed_bot",
)
UNLESS_ASKED = {"chat_member", "message_reaction", "message_reaction_count"}
KEPT_SECONDS = 24 * 3600


@dataclass
class Waiting:
    """An update that has not been confirmed."""

    update: Json
    made: float
    again: bool = False
    """Queued once more on purpose: an offset does not confirm it before it has gone out."""


@dataclass
class Updates:
    """Pending updates, oldest first."""

    clock: Clock
    ledger: Ledger
    next_id: int = 846_200_001
    wanted: set[str] = field(default_factory=lambda: set(KINDS) - UNLESS_ASKED)
    pending: list[Waiting] = field(default_factory=list)
    poll: int = 0
    """Serial of the newest getUpdates; an older one that still waits has lost to it."""

    def want(self, kinds: object) -> None:
        """Remember which kinds the bot asked for; None keeps what was asked before, an empty list is the default."""
        if kinds is None:
            return
        if not isinstance(kinds, list):
            raise bad_request("can't parse allowed updates JSON object")
        named = {str(kind) for kind in kinds} & set(KINDS)
        self.wanted = named or set(KINDS) - UNLESS_ASKED

    def add(self, kind: str, content: Json) -> Json | None:
        """A new update, unless the bot did not ask for its kind (then None)."""
        if kind not in self.wanted:
            return None
        return self.add_raw({kind: content})

    def add_raw(self, content: Json) -> Json:
        """A new update with any content at all, also one that no client can read."""
        update = {"update_id": self.next_id} | content
        self.next_id += 1
        self.ledger.made[update["update_id"]] = update
        self.pending.append(Waiting(update, self.clock.now()))
        return update

    def repeat(self, update_id: int) -> None:
        """Queue an update once more under its old id, whether or not it was confirmed."""
        again = Waiting(self.ledger.made[update_id], self.clock.now(), again=True)
        self.pending.append(again)

    def shuffle(self, order: Callable[[list[Waiting]], list[Waiting]]) -> None:
        """Put what is pending into another order, ids and all."""
        self.pending = order(self.pending)

    def expire(self) -> None:
        """Throw away what nobody fetched for a day."""
        oldest = self.clock.now() - KEPT_SECONDS
        for waiting in [waiting for waiting in self.pending if waiting.made < oldest]:
            self.pending.remove(waiting)
            self.ledger.expired.add(waiting.update["update_id"])

    def drop_pending(self) -> None:
        """Throw everything away, as the bot asked."""
        self.ledger.dropped.update(waiting.update["update_id"] for waiting in self.pending)
        self.pending.clear()

    def confirm_below(self, offset: int) -> None:
        """Forget what lies before `offset`; a negative one counts from the end."""
        self.expire()
        if offset < 0:
            ids = [waiting.update["update_id"] for waiting in self.pending][offset:]
            offset = ids[0] if ids else 0
        for waiting in list(self.pending):
            if waiting.update["update_id"] < offset and not waiting.again:
                self.confirm(waiting)

    def confirm(self, waiting: Waiting) -> None:
        """The bot has this one."""
        self.pending.remove(waiting)
        self.ledger.confirmed.setdefault(waiting.update["update_id"], self.clock.now())

    def batch(self, limit: int) -> list[Json]:
        """Up to `limit` pending updates; they stay pending until they are confirmed."""
        self.expire()
        going = self.pending[:limit]
        for waiting in going:
            waiting.again = False
        out = [waiting.update for waiting in going]
        self.ledger.handed += [Handed(update["update_id"], self.clock.now(), "poll") for update in out]
        return out
