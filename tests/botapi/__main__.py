"""Hold a conversation with a bot by hand: `python -m tests.botapi [--port 8081]`, then a line at a time.

Ada: hello                 Ada writes (who is not there yet appears)
Ada [Done]                 Ada presses the newest button of that label
Ada < photo.png            Ada sends a file
Ada blocks                 and `Ada unblocks`
group Crew Dee             Dee makes a group with topics and makes the bot its administrator; `crowd Crew Dee`: neither
Dee@Crew: /cases           Dee writes in it; `Tom@Crew/2: on my way` in its second topic; `Tom@Crew [Take it]` presses
Crew deletes 2             the second topic; `Crew kicks`, `Crew grows` (into a supergroup), `Crew promotes`
flood 5                    the next message is refused with 429 for 5 seconds; `drop`, `half`, `gateway` likewise
"""

import argparse
import re
import sys
import threading
from pathlib import Path

from tests.botapi import Background, BotApi, Fault
from tests.botapi.chats import Topic
from tests.botapi.errors import Json
from tests.botapi.groups import Group
from tests.botapi.ledger import Sent
from tests.botapi.markup import buttons
from tests.botapi.people import Person

LINE = re.compile(
    r"(?P<who>\w+)(?:@(?P<group>\w+)(?:/(?P<topic>\d+))?)?"
    r"(?:: (?P<text>.+)| \[(?P<label>.+)\]| < (?P<file>.+)| (?P<deed>blocks|unblocks))"
)
FAULTS = {"drop": Fault.drop(), "half": Fault.half(), "gateway": Fault.gateway()}


class Console:
    """People by name, and what the bot says to them on standard output."""

    def __init__(self, api: BotApi) -> None:
        self._api = api
        self._people: dict[str, Person] = {}
        self._groups: dict[str, Group] = {}
        self._shown = 0
        self._ends = False
        self._reader = threading.Thread(target=self._show_what_comes, daemon=True)
        self._reader.start()

    def does(self, line: str) -> None:
        """One line of input; ValueError or LookupError says what is wrong with it."""
        if line.startswith("flood "):
            self._api.faults.order(Fault.flood(int(line.split()[1])), method="sendMessage")
        elif line in FAULTS:
            self._api.faults.order(FAULTS[line], method="sendMessage")
        elif line.startswith(("group ", "crowd ")):
            kind, title, who = line.split()
            self._groups[title] = self._api.group(title, supergroup=kind == "group", forum=kind == "group")
            self._groups[title].adds_bot(self._person(who), admin=kind == "group")
        elif line.partition(" ")[0] in self._groups:
            self._befalls(self._groups[line.partition(" ")[0]], line.split()[1:])
        elif found := LINE.fullmatch(line):
            self._acts(self._person(found["who"]), found)
        else:
            raise ValueError("this is no line; write `Ada: hello`, `Ada [Done]`, `Ada < photo.png` or `Ada blocks`")

    def _befalls(self, group: Group, words: list[str]) -> None:
        somebody = self._person("Somebody")
        match words:
            case ["deletes", number]:
                group.deletes_topic(self._topic(group, number))
            case ["kicks"]:
                group.removes_bot(somebody)
            case ["grows"]:
                group.becomes_supergroup(somebody)
            case ["promotes"]:
                group.adds_bot(somebody, admin=True)
            case _:
                raise ValueError("a group deletes 2, kicks, grows or promotes")

    def _topic(self, group: Group, number: str) -> Topic:
        topics = list(group.chat.topics.values())
        if not 1 <= int(number) <= len(topics):
            raise LookupError(f"there are {len(topics)} topics")
        return topics[int(number) - 1]

    def _acts(self, person: Person, found: "re.Match[str]") -> None:
        group = self._groups.get(found["group"] or "")
        if found["group"] and group is None:
            raise LookupError(f"there is no group {found['group']}; write `group {found['group']} Dee` first")
        if found["text"]:
            topic = self._topic(group, found["topic"]) if group and found["topic"] else None
            person.writes(found["text"], into=group, topic=topic, reply_to=self._newest(group, topic))
        elif found["label"]:
            person.presses(found["label"], on=self._with(group, found["label"]) if group else None)
        elif found["deed"] == "blocks":
            person.blocks()
        elif found["deed"] == "unblocks":
            person.unblocks()
        else:
            path = Path(found["file"])
            data = path.read_bytes()
            if path.suffix.lower() in {".png", ".jpg", ".jpeg"}:
                person.sends_photo(data)
            else:
                person.sends_file("document", path.name, data)

    def _newest(self, group: Group | None, topic: Topic | None) -> Json | None:
        """What is replied to where a group has no topics."""
        posts = group.messages if group and topic is None and not group.chat.forum else []
        return posts[-1] if posts else None

    def _with(self, group: Group, label: str) -> Json:
        held = [one for one in group.messages if any(button["text"] == label for button in buttons(one))]
        if not held:
            raise LookupError(f"the group has no message with a button {label!r}")
        return held[-1]

    def ends(self) -> None:
        """Show what is still to be shown."""
        self._ends = True
        self._api.bell.ring()
        self._reader.join(5)

    def _person(self, name: str) -> Person:
        if name not in self._people:
            self._people[name] = self._api.person(name)
        return self._people[name]

    def _show_what_comes(self) -> None:
        while not self._ends:
            self._api.bell.wait(lambda: self._ends or len(self._api.ledger.sent) > self._shown, 3600)
            for sent in self._api.ledger.sent[self._shown :]:
                self._shown += 1
                print(self._said(sent), flush=True)

    def _said(self, sent: Sent) -> str:
        chat = self._api.chats.chats[sent.chat_id]
        name = chat.json().get("first_name", chat.title)
        if topic := chat.topics.get(sent.message.get("message_thread_id", 0)):
            name += f"/{list(chat.topics).index(topic.id) + 1} {topic.name!r}"
        words = sent.message.get("text") or sent.message.get("caption") or sent.method
        labels = " ".join(f"[{button['text']}]" for button in buttons(sent.message))
        return f"  to {name}: {words}" + (f"\n    {labels}" if labels else "")


def main() -> int:
    """Serve until the input ends."""
    parser = argparse.ArgumentParser(prog="python -m tests.botapi", description="A Bot API on loopback, by hand.")
    parser.add_argument("--port", type=int, default=8081)
    options = parser.parse_args()
    with Background(BotApi(), options.port) as api:
        print(f"url {api.url}\ntoken {api.token}", flush=True)
        console = Console(api)
        for line in sys.stdin:
            try:
                console.does(line.strip())
            except (ValueError, LookupError, OSError, RuntimeError) as error:
                print(f"  ? {error}", flush=True)
        console.ends()
    return 0


if __name__ == "__main__":
    sys.exit(main())
