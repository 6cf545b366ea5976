"""Who is on the tub: inviting somebody, who gets the reminders, and leaving."""

from collections.abc import Generator
from datetime import date
from typing import Any

from pydantic import JsonValue

from bot.schedule.journal import open_cases
from bot.schedule.reminders import caretaker
from bot.talk.flow import Ask, Change, Doing, Flow, Keep, Leave, Live, Option, Say, Start, Tell, errand, flow
from bot.talk.mates import MOST, name_of
from bot.talk.words import Line, line, lines, verbatim

CLOSE = Option("close", line("household.do.close"))
LINK = (Option("yes", line("hand_on.do.link")), Option("no", line("button.cancel")))


@flow("household")
def household(start: Start) -> Flow:
    """Who is there, and what may be done about it."""
    seen = yield Keep("seen", lambda live: _seen(live, start))
    assert isinstance(seen, dict)
    options = [Option("invite", line("household.do.invite"))] if seen["room"] else []
    if seen["others"]:
        too = "only_one" if start.person.always_reminded else "me_too"
        options += [Option(too, line(f"household.do.{too}")), Option("leave", line("household.do.leave"))]
    said = yield Ask("household", _who(seen), (*options, CLOSE), columns=1)
    if said == "invite":
        yield from _invite(start)
    elif said in ("me_too", "only_one"):
        yield Change("set", person={"always_reminded": said == "me_too"})
        yield Say(line(f"household.{said}"))
    elif said == "leave":
        yield from _leave(start)
    else:
        yield Say(line("household.closed"))
    return None


def _seen(live: Live, start: Start) -> JsonValue:
    people = live.known.household
    reminded = caretaker(people, live.journal, live.now)
    return {
        "others": [one.name for one in people if one.key != start.person.key],
        "room": len(people) < MOST,
        "reminded": None if reminded is None else "" if reminded.key == start.person.key else reminded.name,
    }


def _who(seen: dict[str, Any]) -> Line:
    if not seen["others"]:
        return line("household.alone")
    names = tuple(verbatim(name) if name else line("household.somebody") for name in seen["others"])
    reminded = None
    if seen["reminded"] == "":
        reminded = line("household.reminded_you")
    elif seen["reminded"]:
        reminded = line("household.reminded", name=verbatim(seen["reminded"]))
    return lines(line("household.who", names=names), reminded)


def _invite(start: Start) -> Generator[Doing, Any, None]:
    """The link comes as a message of its own and is kept nowhere."""
    assert start.tub
    made = yield errand("link", "household.invite", {"tub": start.tub.key}, line("household.making"))
    if isinstance(made, str):
        yield Say(line("household.pass_on", until=date.fromisoformat(made)))
    else:
        yield Say(line("household.no_link"))


def _leave(start: Start) -> Generator[Doing, Any, None]:
    sure = (Option("yes", line("household.do.leave")), Option("no", line("household.do.stay")))
    if (yield Ask("sure", line("household.sure", dealer=start.dealer.name), sure, columns=1)) == "yes":
        yield Leave("leave")
        yield Say(line("household.gone"))
    else:
        yield Say(line("household.closed"))


@flow("hand_on")
def hand_on(start: Start) -> Flow:
    """The tub goes to somebody else: a link that makes it theirs alone."""
    assert start.tub
    me = start.person.key
    others = yield Keep("others", lambda live: [one.key for one in live.known.household if one.key != me])
    if (yield Keep("case", lambda live: bool(open_cases(live.journal)))):
        yield Say(line("hand_on.open_case", dealer=start.dealer.name))
        return None
    if (yield Ask("hand_on", line("hand_on.sure"), LINK, columns=1)) != "yes":
        yield Say(line("household.closed"))
        return None
    made = yield errand("link", "household.hand_on", {"tub": start.tub.key}, line("household.making"))
    if isinstance(made, str):
        assert isinstance(others, list)
        for key in others:
            yield Tell(f"tell.{key}", str(key), line("hand_on.made", name=name_of(start.person)))
        yield Say(line("hand_on.pass_on", until=date.fromisoformat(made)))
    else:
        yield Say(line("household.no_link"))
    return None


@flow("hand_tub_on")
def hand_tub_on(start: Start) -> Flow:
    """The dealer makes such a link for the tub of an owner."""
    args = start.args
    about = line("hand_on.dealer_sure", name=verbatim(str(args["name"])), tub=verbatim(str(args["called"])))
    if (yield Ask("hand_on", about, LINK, columns=1)) != "yes":
        yield Say(line("household.closed"))
        return None
    made = yield errand("link", "household.hand_on", {"tub": args["tub"]}, line("household.making"))
    passed = line("hand_on.dealer_pass_on", until=date.fromisoformat(made)) if isinstance(made, str) else None
    yield Say(passed or line("household.no_link"))
    return None
