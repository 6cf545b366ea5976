"""Hold a conversation with a bot by hand: `python -m tests.botapi [--port 8081]`, then a line at a time.

Ada: hello                 Ada writes (who is not there yet appears)
Ada [Done]                 Ada presses the newest button of that label
Ada < photo.png            Ada sends a file
Ada blocks                 and `Ada unblocks`
flood 5                    the next message is refused with 429 for 5 seconds; `drop`, `half`, `gateway` likewise
"""

import argparse
import re
import sys
import threading
from pathlib import Path

from tests.botapi import Background, BotApi, Fault
from tests.botapi.ledger import Sent
from tests.botapi.markup import buttons
from tests.botapi.people import Person

LINE = re.compile(r"(?P<who>\w+)(?:: (?P<text>.+)| \[(?P<label>.+)\]| < (?P<file>.+)| (?P<deed>blocks|unblocks))")
FAULTS = {"drop": Fault.drop(), "half": Fault.half(), "gateway": Fault.gateway()}


class Console:
    """People by name, and what the bot says to them on standard output."""

    def __init__(self, api: BotApi) -> None:
        self._api = api
        self._people: dict[str, Person] = {}
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
        elif found := LINE.fullmatch(line):
            self._acts(self._person(found["who"]), found)
        else:
            raise ValueError("this is no line; write `Ada: hello`, `Ada [Done]`, `Ada < photo.png` or `Ada blocks`")

    def _acts(self, person: Person, found: "re.Match[str]") -> None:
        if found["text"]:
            person.writes(found["text"])
        elif found["label"]:
            person.presses(found["label"])
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
        name = self._api.chats.chats[sent.chat_id].json().get("first_name", sent.chat_id)
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
