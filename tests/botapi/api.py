"""The service as a whole: its state, and what a test does to it."""

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count

from tests.botapi.bell import Bell
from tests.botapi.chats import Chat, Chats, Post, User
from tests.botapi.clock import Clock
from tests.botapi.errors import Json
from tests.botapi.faults import Faults
from tests.botapi.files import Files
from tests.botapi.groups import Group
from tests.botapi.ledger import Ledger, Sent
from tests.botapi.limits import Limits
from tests.botapi.people import Person
from tests.botapi.updates import Updates
from tests.botapi.webhook import Webhook

TOKEN = "5550001234:AAF-double_of_the_service_on_loopback"
QUERY_SECONDS = 15.0


@dataclass
class Query:
    """A button press that may be answered once, for a short while."""

    id: str
    made: float
    answered: bool = False
    text: str = ""
    alert: bool = False


@dataclass
class BotApi:
    """One bot's service. Every method may be called from any thread; none waits unless it says so.

    `privacy` is the bot's group privacy mode; `query_seconds` is how long a button press may be answered.
    """

    token: str = TOKEN
    clock: Clock = field(default_factory=Clock)
    limits: Limits = field(default_factory=Limits)
    faults: Faults = field(default_factory=Faults)
    privacy: bool = True
    query_seconds: float = QUERY_SECONDS
    url: str = ""

    def __post_init__(self) -> None:
        self.bell = Bell()
        self.ledger = Ledger()
        self.updates = Updates(self.clock, self.ledger)
        self.webhook = Webhook()
        self.chats = Chats()
        self.files = Files()
        self.queries: dict[str, Query] = {}
        self.commands: dict[str, list[Json]] = {}
        self.calls = count(1)
        self.closing = False
        self.me = User(int(self.token.partition(":")[0]), "Brimful", is_bot=True, username="brimful_double_bot")
        self.chats.users[self.me.id] = self.me

    @property
    def base_url(self) -> str:
        """For a client's setting of the same name."""
        return f"{self.url}/bot"

    @property
    def base_file_url(self) -> str:
        """For a client's setting of the same name."""
        return f"{self.url}/file/bot"

    def person(self, first_name: str, **more: str | None) -> Person:
        """A new account; `last_name`, `username`, `language_code` if wanted. It has not started the bot yet."""
        with self.bell.lock:
            return Person(self, self.chats.add_user(first_name, **more))

    def group(self, title: str, *, supergroup: bool = True, forum: bool = False) -> Group:
        """A new group with nobody in it."""
        with self.bell.lock:
            return Group(self, self.chats.add_group(title, supergroup=supergroup, forum=forum))

    def put(self, chat: Chat, content: Json, author: User, *, silent: bool = False, protected: bool = False) -> Post:
        """A new message in a chat; nobody is told of it."""
        number = self.chats.next_message_id(chat)
        message: Json = {
            "message_id": number,
            "from": author.json(),
            "chat": chat.json(),
            "date": int(self.clock.now()),
        }
        post = Post(message | content, author is self.me, silent, protected)
        chat.posts[number] = post
        return post

    def send(self, method: str, chat: Chat, content: Json, *, silent: bool, protected: bool) -> Post:
        """A message from the bot, written into the ledger."""
        post = self.put(chat, content, self.me, silent=silent, protected=protected)
        self.ledger.sent.append(Sent(self.clock.now(), method, chat.id, dict(post.message), silent))
        return post

    def happens(self, kind: str, content: Json) -> Json | None:
        """An update of this kind, if the bot wants it."""
        with self.bell.lock:
            update = self.updates.add(kind, content)
            self.bell.ring()
        return update

    def happens_raw(self, content: Json) -> Json:
        """An update with any content, also one that no client can read."""
        with self.bell.lock:
            update = self.updates.add_raw(content)
            self.bell.ring()
        return update

    def repeats(self, update_id: int) -> None:
        """The update goes out once more, confirmed or not."""
        with self.bell.lock:
            self.updates.repeat(update_id)
            self.bell.ring()

    async def until(self, holds: Callable[[], bool], within: float = 10.0) -> None:
        """Wait on the event loop for `holds()`; an AssertionError after `within` seconds."""
        if not await self.bell.until(holds, within):
            raise AssertionError(f"did not come true within {within} s; last calls: {self._last_calls()}")

    def wait(self, holds: Callable[[], bool], within: float = 10.0) -> None:
        """The same from a thread without an event loop."""
        if not self.bell.wait(holds, within):
            raise AssertionError(f"did not come true within {within} s; last calls: {self._last_calls()}")

    def _last_calls(self) -> list[str]:
        return [f"{call.method} {call.outcome}" for call in self.ledger.calls[-5:]]
