"""The door: invites, and people whom nobody knows."""

import hashlib
from datetime import timedelta

from bot.model.event import Began, Tapped, Wrote
from bot.model.person import Invite, Person
from bot.model.trail import Acted
from bot.model.tub import Tub
from bot.talk import mates, stack
from bot.talk.alarm import offer_alarm, sound_alarm
from bot.talk.buttons import CommandButton, decode
from bot.talk.danger import look_for_danger
from bot.talk.draft import Draft
from bot.talk.orders import what_may_be_written
from bot.talk.understand import language
from bot.talk.words import languages, line, lines

GUESSES = 5
GUESSING = timedelta(hours=1)
"""How many invites that nobody knows somebody may bring in that time, before any that they bring has to wait."""


def stranger_step(draft: Draft) -> None:
    """Answer somebody whom nobody knows: let an invited one in, keep the door open where the dealer wants it so, and
    answer a red flag whoever writes.
    """
    event = draft.arrival.event
    if isinstance(event, Began) and event.invite:
        invited(draft)
        return
    if isinstance(event, Wrote) and look_for_danger(draft, event.text):
        return
    if draft.known.dealer.open_door and isinstance(event, Began | Wrote):
        _let_in(draft, Person(key=_key(draft, "p"), dealer=draft.known.dealer.key, name=draft.arrival.name), None)
        return
    if isinstance(event, Tapped) and _is_alarm(draft, event):
        return
    draft.say(line("door.invite_needed", dealer=draft.known.dealer.name))
    offer_alarm(draft)


def _is_alarm(draft: Draft, tapped: Tapped) -> bool:
    """Whoever taps that there is danger is told whom to call."""
    match decode(tapped.data):
        case CommandButton(command) if command.partition(":")[0] == "danger":
            return sound_alarm(draft, command.partition(":")[2])
    return False


def invited(draft: Draft) -> None:
    """Let somebody in by the invite that they bring, if it is good. Who was here before is the same person again. Who
    brought too many that nobody knows has to wait, so that nobody can guess one.
    """
    invite = draft.known.invite
    known = draft.known.invited
    guesses = tuple(at for at in draft.conversation.guesses if draft.now - at < GUESSING)
    if len(guesses) >= GUESSES:
        draft.say(line("door.too_many_guesses", dealer=draft.known.dealer.name))
    elif invite is None:
        draft.conversation = draft.conversation.model_copy(update={"guesses": (*guesses, draft.now)})
        draft.say(line("door.unknown_invite", dealer=draft.known.dealer.name))
    elif invite.used_by or (known is not None and known.address is not None):
        draft.say(line("door.used_invite", dealer=draft.known.dealer.name))
    elif invite.expires <= draft.now:
        draft.say(line("door.expired_invite", dealer=draft.known.dealer.name))
    else:
        person = _person_for(draft, invite)
        draft.used_invite = (invite.digest, person.key)
        _let_in(draft, person, draft.known.invited_tub)


def join(draft: Draft) -> bool:
    """Let an owner onto one more tub by an invite to it; False if it is none for them."""
    invite, tub = draft.known.invite, draft.known.invited_tub
    assert draft.person
    if invite is None or tub is None or invite.role != "owner" or invite.person not in (None, draft.person.key):
        return False
    if invite.used_by or invite.expires <= draft.now:
        draft.say(line("door.used_invite" if invite.used_by else "door.expired_invite", dealer=draft.known.dealer.name))
        return True
    there = {one.key for one in draft.known.invited_household}
    if draft.person.key in there and not (invite.hands_on and len(there) > 1):
        draft.say(line("household.there_already"))
        return True
    draft.used_invite = (invite.digest, draft.person.key)
    draft.tub = tub
    mates.join(draft)
    stack.begin(draft, "another_tub")
    return True


def _person_for(draft: Draft, invite: Invite) -> Person:
    """Whom an invite lets in: who was here before, who is in the books already, or somebody new."""
    new = Person(key=_key(draft, "p"), dealer=draft.known.dealer.key, name=invite.name, role=invite.role)
    person = draft.known.invited or new
    if draft.person:
        person = draft.person.model_copy(update={"name": invite.name, "role": invite.role, "standing": "active"})
    return person.model_copy(update={"name": person.name or draft.arrival.name})


def _let_in(draft: Draft, person: Person, tub: Tub | None) -> None:
    dealer = draft.known.dealer
    wanted = draft.arrival.language or _written(draft) or dealer.language
    draft.person = person.model_copy(
        update={
            "address": draft.arrival.address,
            "zone": dealer.zone,
            "quiet": dealer.quiet,
            "language": wanted if wanted in languages() else dealer.language,
        }
    )
    draft.people[person.key] = draft.person
    if person.role != "owner":
        draft.record(Acted(what="joined", about=(person.key,)))
        hello = line(f"door.staff.{person.role}", name=person.name, dealer=dealer.name)
        draft.say(lines(hello, what_may_be_written(person.role)))
        return
    draft.tub = tub or Tub(key=_key(draft, "t"), dealer=dealer.key)
    draft.tubs[draft.tub.key] = draft.tub
    mates.join(draft)
    draft.conversation = draft.conversation.model_copy(update={"serial": first_serial(person.key), "guesses": ()})
    stack.begin(draft, "welcome")


def first_serial(person: str) -> int:
    """Where a newcomer's conversations are counted from: far from those of anybody who was erased in the same chat."""
    return int(hashlib.sha256(person.encode()).hexdigest()[:8], 16)


def _written(draft: Draft) -> str | None:
    event = draft.arrival.event
    return language(event.text) if isinstance(event, Wrote) else None


def _key(draft: Draft, kind: str) -> str:
    """A key made from the arrival, so that an arrival handled twice makes the same person."""
    told = f"{draft.known.dealer.key}|{draft.arrival.address.channel}|{draft.arrival.update}"
    return kind + hashlib.sha256(told.encode()).hexdigest()[:10]
