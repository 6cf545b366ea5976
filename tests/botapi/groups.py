"""Groups, their topics, and what becomes of the bot in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.botapi.chats import Chat, Topic, User
from tests.botapi.errors import Json, forbidden

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.people import Person

ANONYMOUS = User(1_087_968_824, "Group", is_bot=True, username="GroupAnonymousBot")
RIGHTS = [
    "can_be_edited",
    "is_anonymous",
    "can_manage_chat",
    "can_delete_messages",
    "can_manage_video_chats",
    "can_restrict_members",
    "can_promote_members",
    "can_change_info",
    "can_invite_users",
    "can_post_stories",
    "can_edit_stories",
    "can_delete_stories",
    "can_pin_messages",
    "can_manage_topics",
]


@dataclass
class Group:
    """A group as its members see it."""

    api: BotApi
    chat: Chat

    @property
    def id(self) -> int:
        """The chat's id; another one after `becomes_supergroup`."""
        return self.chat.id

    def joins(self, person: Person) -> None:
        """A person becomes a member."""
        with self.api.bell.lock:
            self.chat.members[person.id] = person.user
            message = self.api.put(self.chat, {"new_chat_members": [person.user.json()]}, person.user).message
            if self._bot_is_in():
                self.api.happens("message", message)

    def adds_bot(self, by: Person, *, admin: bool = False) -> None:
        """The bot is added, or made an administrator."""
        self._bot_becomes("administrator" if admin else "member", by)

    def removes_bot(self, by: Person) -> None:
        """The bot is thrown out."""
        self._bot_becomes("kicked", by)

    def silences_bot(self) -> None:
        """Members may not write any more; nobody tells the bot."""
        self.chat.may_write = False

    def is_deleted(self) -> None:
        """The group is gone for good."""
        self.chat.gone = forbidden("the group chat was deleted")

    def becomes_supergroup(self, by: Person) -> None:
        """The group gets another id; the bot learns it by two service messages."""
        with self.api.bell.lock:
            old = self.chat
            new = self.api.chats.add_group(old.title, supergroup=True, forum=False)
            new.members, new.bot_status = dict(old.members), old.bot_status
            old.moved_to = new.id
            self.api.happens("message", self.api.put(old, {"migrate_to_chat_id": new.id}, by.user).message)
            self.api.happens("message", self.api.put(new, {"migrate_from_chat_id": old.id}, by.user).message)
            self.chat = new

    def topic(self, name: str, by: Person) -> Topic:
        """A member opens a topic in a forum."""
        with self.api.bell.lock:
            if not self.chat.forum:
                raise RuntimeError(f"{self.chat.title} is no forum")
            created = {"forum_topic_created": {"name": name, "icon_color": 7_322_096}}
            post = self.api.put(self.chat, created, by.user)
            topic = Topic(post.message["message_id"], name)
            post.message |= {"message_thread_id": topic.id, "is_topic_message": True}
            self.chat.topics[topic.id] = topic
            if self._bot_is_in():
                self.api.happens("message", post.message)
            return topic

    def deletes_topic(self, topic: Topic) -> None:
        """The topic and its messages go; nobody tells the bot."""
        with self.api.bell.lock:
            self.chat.drop_topic(topic.id)

    def writes_anonymously(self, text: str) -> Json:
        """An administrator writes in the group's name."""
        with self.api.bell.lock:
            message = self.api.put(self.chat, {"text": text, "sender_chat": self.chat.json()}, ANONYMOUS).message
            if self.bot_sees(message):
                self.api.happens("message", message)
            return message

    def bot_sees(self, message: Json) -> bool:
        """Whether the bot gets this message: an administrator all, else by privacy mode commands and replies only."""
        if not self._bot_is_in():
            return False
        if self.chat.bot_status == "administrator" or not self.api.privacy:
            return True
        if message.get("reply_to_message", {}).get("from", {}).get("id") == self.api.me.id:
            return True
        first = next(iter(message.get("entities", [])), None)
        if first is None or first["type"] != "bot_command" or first["offset"] != 0:
            return False
        command = message["text"][: first["length"]]
        return "@" not in command or command.lower().endswith(f"@{self.api.me.username}")

    @property
    def messages(self) -> list[Json]:
        """The bot's messages as they stand now, oldest first."""
        with self.api.bell.lock:
            return [post.message for post in self.chat.bot_posts()]

    def _bot_is_in(self) -> bool:
        return self.chat.bot_status in {"member", "administrator"}

    def _bot_becomes(self, status: str, by: Person) -> None:
        with self.api.bell.lock:
            before, self.chat.bot_status = self.chat.bot_status, status
            change = {
                "chat": self.chat.json(),
                "from": by.user.json(),
                "date": int(self.api.clock.now()),
                "old_chat_member": self.member(before),
                "new_chat_member": self.member(status),
            }
            self.api.happens("my_chat_member", change)

    def member(self, status: str) -> Json:
        """The bot as a chat member of that status."""
        shown: Json = {"user": self.api.me.json(), "status": status}
        if status == "administrator":
            shown |= dict.fromkeys(RIGHTS, True) | {"is_anonymous": False}
        if status == "kicked":
            shown |= {"until_date": 0}
        return shown
