"""Red flags: looked for before anything else, in every text, whatever is open.

Two classes. Danger: what to do now, contacts, a case at the front, every flow paused and doses withheld until staff
clear it. Water not fit: no bathing, a case, and the corrective plan goes on at once, because warm water is never left
without sanitizer.
"""

from collections.abc import Sequence

from bot.model.dealer import Dealer
from bot.model.fact import CaseOpened
from bot.model.message import Button
from bot.schedule.journal import open_cases
from bot.talk import card, crew, relay, stack
from bot.talk.buttons import CaseButton, encode
from bot.talk.card import story_here
from bot.talk.cases import LASTING, new_case, open_case
from bot.talk.draft import Draft
from bot.talk.emergency import contacts_in
from bot.talk.first_words import first_words
from bot.talk.rising import audience
from bot.talk.tongues import offer_languages
from bot.talk.understand import Flag, flags, symptoms
from bot.talk.words import Line, line, lines


def look_for_danger(draft: Draft, text: str) -> bool:
    """Answer red flags in `text`; False if there are none."""
    found = flags(text)
    answer_flags(draft, text, found)
    return bool(found)


def answer_flags(draft: Draft, text: str, found: Sequence[Flag]) -> None:
    """Say what to do now about these red flags of `text`, and open a case."""
    danger = [flag for flag in found if flag.klass == "danger"]
    water = [flag for flag in found if flag.klass == "water"]
    if danger:
        _danger(draft, text, danger)
    elif water:
        _water(draft, text, water)


NOT_AT_ONCE = frozenset({10, 16, 17})
"""Red flags that are no emergency: a rash, a lock, a question for a doctor."""


def contacts_of(dealer: Dealer, number: int, zone: str) -> Line | None:
    """Whom to call about the red flag of that number: the dealer's contacts, else those of the country of `zone`."""
    known = contacts_in(zone, dealer.contacts)
    parts: list[Line | None] = []
    if number not in NOT_AT_ONCE:
        emergency = known.emergency or line("contact.emergency_unknown")
        parts.append(line("contact.emergency", number=emergency))
    if number in (6, 7):
        parts.append(line("contact.poison", number=known.poison or line("contact.poison_unknown")))
    if number in (8, 9, 10, 17) and known.health:
        parts.append(line("contact.health", number=known.health))
    if number in (3, 4, 16, 18) and known.dealer:
        parts.append(line("contact.dealer", number=known.dealer))
    return lines(*parts, gap="\n") if parts else None


def _danger(draft: Draft, text: str, found: list[Flag]) -> None:
    first = min(found, key=lambda flag: URGENCY.index(flag.number) if flag.number in URGENCY else len(URGENCY))
    kinds = tuple(dict.fromkeys(flag.kind for flag in found))
    fact = _told_already(draft, text, kinds) or case_of(draft, text, "danger", kinds)
    dealer, reader = draft.known.dealer, draft.person or draft.known.dealer
    emergency = contacts_in(reader.zone, dealer.contacts).emergency
    draft.say(
        lines(
            first_words(text, first, reader.language, emergency),
            line(f"flag.{first.kind}"),
            line("danger.foam") if first.kind == "wet_electrics" and "foam" in symptoms(text) else None,
            contacts_of(dealer, first.number, reader.zone),
            told_line(draft),
            offer_languages(draft, text),
        ),
        mistake_button(draft, fact),
        lane="alert",
    )


def _told_already(draft: Draft, text: str, kinds: tuple[str, ...]) -> CaseOpened | None:
    """The open danger of this person that is about the same: what they say of it goes to whoever has it."""
    mine = [fact for entry, fact in open_cases(draft.journal) if draft.person and entry.person == draft.person.key]
    same = next((fact for fact in mine if fact.klass == "danger" and set(kinds) <= set(fact.reasons)), None)
    if same:
        relay.pass_on(draft, text, quietly=True)
    return same


def told_line(draft: Draft) -> Line:
    """Who knows of a danger now."""
    return line("danger.told" if draft.known.staff and draft.known.person else "danger.call_dealer")


def mistake_button(draft: Draft, fact: CaseOpened) -> tuple[tuple[Button, ...], ...]:
    """One tap for a danger that was a misunderstanding."""
    if not draft.known.person:
        return ()
    label = draft.words.text(line("danger.mistake"))
    return ((Button(label=label, data=encode(CaseButton(fact.case, "mistake"))),),)


URGENCY = (5, 7, 6, 20, 1, 2, 3, 18, 19, 8, 4, 10, 9, 16, 17)
"""Which red flag is answered first where a text holds several: life first."""


def _water(draft: Draft, text: str, found: list[Flag]) -> None:
    standing = {reason for _, fact in open_cases(draft.journal) if fact.klass == "water" for reason in fact.reasons}
    if not {flag.kind for flag in found} <= standing:
        case_of(draft, text, "water", tuple(dict.fromkeys(flag.kind for flag in found)))
    lasting = next((flag.kind for flag in found if flag.kind in LASTING), None)
    told = line("danger.told_change" if lasting else "danger.told_water") if draft.known.staff else None
    say = lines(line(f"flag.{found[0].kind}"), told)
    if not draft.known.person or not draft.tub:
        draft.say(say, lane="alert")
        return
    if lasting:
        stack.begin(draft, "refill", {"why": lasting}, (say,))
    elif found[0].kind == "contaminated_source":
        stack.begin(draft, "symptom", {"what": "bad_source", "text": text}, (say,))
    else:
        stack.begin(draft, "weekly_test", {"why": found[0].kind, "text": text}, (say,))


def case_of(draft: Draft, text: str, klass: str, reasons: tuple[str, ...]) -> CaseOpened:
    """Open a case for these reasons, in the owner's own words, and tell the dealer's people."""
    fact = CaseOpened.model_validate(
        {
            "case": new_case(draft.journal, draft.person),
            "klass": klass,
            "reasons": reasons,
            "text": text[:4096],
        }
    )
    if draft.person:
        draft.record(fact)
    open_case(draft, fact)
    return fact


def misunderstood(draft: Draft, case: str) -> None:
    """The owner says that a danger was a misunderstanding: staff are told so, and still clear it."""
    fact = next((fact for _, fact in open_cases(draft.journal) if fact.case == case), None)
    if fact is None:
        draft.say(line("danger.cleared_already"))
        return
    name = draft.person.name if draft.person else ""
    story = story_here(draft, fact)
    told = line("case.mistake", name=name, case=case)
    crew.tell(draft, audience(draft, fact, 1), story, told, card.offered(story))
    draft.say(line("danger.mistake_told"))
