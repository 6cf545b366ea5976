"""Who there is and what was said: users, chats, topics, messages."""

from dataclasses import dataclass, field
from itertools import count

from tests.botapi.errors import Json, Refusal, bad_request, forbidden, migrated


@dataclass
class User:
    """An account."""

    id: int
    first_name: str
    is_bot: bool = False
    last_name: str | None = None
    username: str | None = None
    language_code: str | None = None

    def json(self) -> Json:
        """As the API shows it."""
        shown: Json = {"id": self.id, "is_bot": self.is_bot, "first_name": self.first_name}
        optional = {"last_name": self.last_name, "username": self.username, "language_code": self.language_code}
        return shown | {name: value for name, value in optional.items() if value}


@dataclass
class Topic:
    """A thread of a forum group."""

    id: int
    name: str
    closed: bool = False


@dataclass
class Post:
    """A message in its chat, as the API shows it."""

    message: Json
    by_bot: bool
    silent: bool = False
    protected: bool = False


@dataclass
class Chat:
    """A private chat, a group or a supergroup, as it stands with the bot."""

    id: int
    type: str
    user: User | None = None
    title: str = ""
    forum: bool = False
    started: bool = False
    gone: Refusal | None = None
    bot_status: str = "member"
    may_write: bool = True
    members: dict[int, User] = field(default_factory=dict)
    topics: dict[int, Topic] = field(default_factory=dict)
    posts: dict[int, Post] = field(default_factory=dict)
    moved_to: int | None = None
    message_ids: "count[int]" = field(default_factory=lambda: count(1))

    def json(self) -> Json:
        """As the API shows it inside a message."""
        if self.user is not None:
            shown = self.user.json()
            names = {key: shown[key] for key in ("first_name", "last_name", "username") if key in shown}
            return {"id": self.id, "type": self.type} | names
        shown = {"id": self.id, "type": self.type, "title": self.title}
        return shown | ({"is_forum": True} if self.forum else {})

    def check_open(self) -> None:
        """Refuse where the bot cannot write into this chat at all."""
        if self.moved_to is not None:
            raise migrated(self.moved_to)
        if self.gone is not None:
            raise self.gone
        if self.type == "private" and not self.started:
            raise forbidden("bot can't initiate conversation with a user")
        word = "supergroup" if self.type == "supergroup" else "group"
        if self.bot_status == "kicked":
            raise forbidden(f"bot was kicked from the {word} chat")
        if self.bot_status == "left":
            raise forbidden(f"bot is not a member of the {word} chat")
        if not self.may_write:
            raise bad_request("not enough rights to send text messages to the chat")

    def check_thread(self, thread: int) -> None:
        """Refuse a thread that cannot be written to; 0 means none was named."""
        if not thread:
            return
        if not self.forum or thread not in self.topics:
            raise bad_request("message thread not found")
        if self.topics[thread].closed:
            raise bad_request("TOPIC_CLOSED")

    def drop_topic(self, thread: int) -> None:
        """Remove a topic with its messages."""
        del self.topics[thread]
        kept = {n: post for n, post in self.posts.items() if post.message.get("message_thread_id") != thread}
        self.posts = kept

    def bot_posts(self) -> list[Post]:
        """The bot's messages that are still there, oldest first."""
        return [post for post in self.posts.values() if post.by_bot]


@dataclass
class Chats:
    """All chats and accounts. Private chats and small groups share a count of message ids, a supergroup has its own."""

    users: dict[int, User] = field(default_factory=dict)
    chats: dict[int, Chat] = field(default_factory=dict)
    _ids: "count[int]" = field(default_factory=lambda: count(7_100_000_001))
    _groups: "count[int]" = field(default_factory=lambda: count(4_000_001))
    _messages: "count[int]" = field(default_factory=lambda: count(101))

    def add_user(self, first_name: str, **more: str | None) -> User:
        """A new account (ids above 32 bits, as new accounts have) with its private chat."""
        user = User(next(self._ids), first_name, **more)  # type: ignore[arg-type]
        self.users[user.id] = user
        self.chats[user.id] = Chat(user.id, "private", user=user)
        return user

    def add_group(self, title: str, *, supergroup: bool, forum: bool) -> Chat:
        """A new group with the bot not yet in it."""
        number = next(self._groups)
        chat_id = -1_000_000_000_000 - number if supergroup else -number
        chat = Chat(chat_id, "supergroup" if supergroup else "group", title=title, forum=forum, bot_status="left")
        self.chats[chat_id] = chat
        return chat

    def next_message_id(self, chat: Chat) -> int:
        """The id of the chat's next message."""
        return next(chat.message_ids if chat.type == "supergroup" else self._messages)

    def find(self, chat_id: str) -> Chat:
        """A chat by the `chat_id` parameter; 400 where there is none."""
        if not chat_id:
            raise bad_request("chat_id is empty")
        try:
            return self.chats[int(chat_id)]
        except (KeyError, ValueError):
            raise bad_request("chat not found") from None
