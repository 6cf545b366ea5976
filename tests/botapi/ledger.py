"""What really happened, to compare with what a bot believes: updates made, handed out, confirmed; calls; messages."""

import json
from collections import Counter
from dataclasses import asdict, dataclass, field

from tests.botapi.errors import Json


@dataclass
class Call:
    """One request. `outcome`: ok, the refusal's text, or the fault that struck; `worked`: whether the work was done."""

    number: int
    at: float
    method: str
    params: Json
    outcome: str = "unanswered"
    code: int = 0
    worked: bool = False


@dataclass(frozen=True)
class Handed:
    """An update that went out, by poll or webhook, at a time."""

    update_id: int
    at: float
    by: str


@dataclass(frozen=True)
class Sent:
    """A message that the bot put into a chat (also where the bot never got the answer)."""

    at: float
    method: str
    chat_id: int
    message: Json
    silent: bool


@dataclass
class Ledger:
    """Everything, in order."""

    made: dict[int, Json] = field(default_factory=dict)
    handed: list[Handed] = field(default_factory=list)
    confirmed: dict[int, float] = field(default_factory=dict)
    expired: set[int] = field(default_factory=set)
    dropped: set[int] = field(default_factory=set)
    calls: list[Call] = field(default_factory=list)
    sent: list[Sent] = field(default_factory=list)

    def unconfirmed(self) -> list[int]:
        """Updates made that the bot has neither confirmed nor had thrown away, oldest first."""
        return [n for n in self.made if n not in self.confirmed and n not in self.expired and n not in self.dropped]

    def handed_more_than_once(self) -> list[int]:
        """Updates that went out at least twice."""
        return [n for n, times in Counter(entry.update_id for entry in self.handed).items() if times > 1]

    def calls_of(self, method: str) -> list[Call]:
        """Requests of one method, oldest first."""
        return [call for call in self.calls if call.method.lower() == method.lower()]

    def texts_to(self, chat_id: int) -> list[str]:
        """Texts and captions the bot put into a chat, oldest first, as first sent."""
        return [
            sent.message.get("text") or sent.message.get("caption") or ""
            for sent in self.sent
            if sent.chat_id == chat_id
        ]

    def to_json(self) -> str:
        """The whole ledger as one JSON object, for another process."""
        whole = asdict(self)
        whole["expired"], whole["dropped"] = sorted(self.expired), sorted(self.dropped)
        return json.dumps(whole, ensure_ascii=False, default=str)
