"""People at their phones."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

from tests.botapi import pictures
from tests.botapi.chats import Chat, Topic, User
from tests.botapi.errors import Json, forbidden
from tests.botapi.markup import buttons
from tests.botapi.text import commands

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.groups import Group

QUERY_IDS = count(4_382_000_000_000_001)
CHAT_INSTANCE = "-3142592653589793238"


@dataclass
class Person:
    """Someone with an account. What is sent goes to the private chat with the bot unless a group is named."""

    api: BotApi
    user: User

    @property
    def chat(self) -> Chat:
        """The private chat with the bot."""
        return self.api.chats.chats[self.user.id]

    @property
    def id(self) -> int:
        """Account id and private chat's id."""
        return self.user.id

    def starts(self, payload: str = "") -> Json:
        """Opens the bot, by a deep link if `payload` is given."""
        return self.writes(f"/start {payload}".strip())

    def writes(
        self,
        text: str,
        *,
        into: Group | None = None,
        topic: Topic | None = None,
        reply_to: Json | None = None,
        forwarded_from: str | None = None,
    ) -> Json:
        """Sends a text; `forwarded_from` names somebody whose account is hidden."""
        content: Json = {"text": text}
        if marks := commands(text):
            content["entities"] = marks
        if forwarded_from is not None:
            origin = {"type": "hidden_user", "sender_user_name": forwarded_from, "date": int(self.api.clock.now())}
            content["forward_origin"] = origin
        return self._sends(content, into=into, topic=topic, reply_to=reply_to)

    def edits(self, message: Json, text: str) -> Json:
        """Changes a text that was sent before."""
        with self.api.bell.lock:
            chat = self.api.chats.chats[message["chat"]["id"]]
            post = chat.posts[message["message_id"]]
            post.message = post.message | {"text": text, "edit_date": int(self.api.clock.now())}
            self.api.happens("edited_message", post.message)
            return post.message

    def sends_photo(
        self,
        data: bytes | None = None,
        *,
        caption: str = "",
        album: str | None = None,
        into: Group | None = None,
        topic: Topic | None = None,
    ) -> Json:
        """Sends a photo (PNG or JPEG); `album` is the media group that several share."""
        stored = self.api.files.add("photo", "photo.jpg", data or pictures.png(640, 480))
        sizes = [stored.json() | {"width": 90, "height": 67}, stored.json()]
        content: Json = {"photo": sizes} | ({"caption": caption} if caption else {})
        if album:
            content["media_group_id"] = album
        return self._sends(content, into=into, topic=topic)

    def sends_file(
        self,
        kind: str,
        name: str = "",
        data: bytes = b"\x00",
        *,
        mime: str = "",
        size: int | None = None,
        caption: str = "",
        into: Group | None = None,
    ) -> Json:
        """Sends a document, video, voice, audio, sticker, animation or video_note; `size` may be a mere claim."""
        stored = self.api.files.add(kind, name or f"{kind}.bin", data, mime, size)
        content: Json = {kind: stored.json()} | ({"caption": caption} if caption else {})
        if kind == "animation":
            content["document"] = stored.json()
        return self._sends(content, into=into)

    def sends_location(self, latitude: float, longitude: float) -> Json:
        """Sends a place."""
        return self._sends({"location": {"latitude": latitude, "longitude": longitude}})

    def sends_contact(self, phone: str, first_name: str) -> Json:
        """Sends somebody's phone number."""
        return self._sends({"contact": {"phone_number": phone, "first_name": first_name}})

    def sends(self, content: Json, *, into: Group | None = None) -> Json:
        """Sends anything else: the message's own fields as the API shows them (a poll, a dice, a service message)."""
        return self._sends(content, into=into)

    def presses(self, label: str, *, on: Json | None = None) -> Json:
        """Presses the button with that label, on the newest message that has it or on the message given.

        A message that has been deleted meanwhile can be pressed too, as on a phone that has not noticed yet.
        """
        with self.api.bell.lock:
            message = on or self._newest_with(label)
            button = next((button for button in buttons(message) if button["text"] == label), None)
            if button is None:
                raise LookupError(f"message {message['message_id']} has no button {label!r}")
            return self.presses_data(button["callback_data"], message)

    def presses_data(self, data: str, message: Json) -> Json:
        """A button press with this data on a message, as a changed client could send it."""
        from tests.botapi.api import Query

        with self.api.bell.lock:
            post = self.api.chats.chats[message["chat"]["id"]].posts.get(message["message_id"])
            gone = {"chat": message["chat"], "message_id": message["message_id"], "date": 0}
            query = Query(str(next(QUERY_IDS)), self.api.clock.now())
            self.api.queries[query.id] = query
            press = {
                "id": query.id,
                "from": self.user.json(),
                "message": post.message if post else gone,
                "chat_instance": CHAT_INSTANCE,
                "data": data,
            }
            self.api.happens("callback_query", press)
            return press

    def blocks(self) -> None:
        """Blocks the bot."""
        with self.api.bell.lock:
            self.chat.gone = forbidden("bot was blocked by the user")
            self._membership("member", "kicked")

    def unblocks(self) -> None:
        """Lets the bot write again."""
        with self.api.bell.lock:
            self.chat.gone = None
            self._membership("kicked", "member")

    def deactivates(self) -> None:
        """Deletes the account; the bot is not told."""
        with self.api.bell.lock:
            self.chat.gone = forbidden("user is deactivated")

    @property
    def messages(self) -> list[Json]:
        """The bot's messages in the private chat as they stand now, oldest first."""
        with self.api.bell.lock:
            return [post.message for post in self.chat.bot_posts()]

    @property
    def texts(self) -> list[str]:
        """Their texts or captions."""
        return [message.get("text") or message.get("caption") or "" for message in self.messages]

    @property
    def labels(self) -> list[str]:
        """Labels of the newest message's inline buttons."""
        messages = self.messages
        return [button["text"] for button in buttons(messages[-1])] if messages else []

    async def hears(self, fragment: str, *, count: int = 1, within: float = 10.0) -> Json:
        """Waits until `count` of the bot's messages contain `fragment`; the newest of them."""
        await self.api.until(lambda: len(self._with_text(fragment)) >= count, within)
        return self._with_text(fragment)[-1]

    def awaits(self, fragment: str, *, count: int = 1, within: float = 10.0) -> Json:
        """The same from a thread without an event loop."""
        self.api.wait(lambda: len(self._with_text(fragment)) >= count, within)
        return self._with_text(fragment)[-1]

    def _with_text(self, fragment: str) -> list[Json]:
        return [m for m in self.messages if fragment in (m.get("text") or m.get("caption") or "")]

    def _newest_with(self, label: str) -> Json:
        groups = [chat for chat in self.api.chats.chats.values() if chat is self.chat or self.id in chat.members]
        held = [
            post.message
            for chat in groups
            for post in chat.bot_posts()
            if any(button["text"] == label for button in buttons(post.message))
        ]
        if not held:
            raise LookupError(f"{self.user.first_name} has no message with a button {label!r}; newest: {self.labels}")
        return max(held, key=lambda message: (message["chat"]["id"] == self.id, message["date"], message["message_id"]))

    def _sends(
        self, content: Json, *, into: Group | None = None, topic: Topic | None = None, reply_to: Json | None = None
    ) -> Json:
        with self.api.bell.lock:
            chat = into.chat if into else self.chat
            if chat is self.chat:
                self._opens()
            if topic is not None:
                content = content | {"message_thread_id": topic.id, "is_topic_message": True}
            if reply_to is not None:
                content = content | {"reply_to_message": {k: v for k, v in reply_to.items() if k != "reply_to_message"}}
            message = self.api.put(chat, content, self.user).message
            if into is None or into.bot_sees(message):
                self.api.happens("message", message)
            return message

    def _opens(self) -> None:
        if self.chat.gone is not None:
            raise RuntimeError(f"{self.user.first_name} cannot write: {self.chat.gone.description}")
        self.chat.started = True

    def _membership(self, old: str, new: str) -> None:
        me = self.api.me.json()
        change = {
            "chat": self.chat.json(),
            "from": self.user.json(),
            "date": int(self.api.clock.now()),
            "old_chat_member": {"user": me, "status": old} | ({"until_date": 0} if old == "kicked" else {}),
            "new_chat_member": {"user": me, "status": new} | ({"until_date": 0} if new == "kicked" else {}),
        }
        self.api.happens("my_chat_member", change)
