"""The two decisions of a round: who belongs to it, and what becomes of the message when somebody's turn has come."""

from datetime import datetime

from bot.desk.rounds.letter import letter
from bot.desk.rounds.manners import leaves_at, left_out
from bot.desk.rounds.whom import chosen
from bot.model.dealer import Dealer
from bot.model.round import Candidate, Choose, Chosen, Decide, Fate, Put, Round, Skip, Wait


def choosing(round_: Round, dealer: Dealer, now: datetime) -> Choose:
    """Who belongs to a round, and who of them is left out as things stand now."""

    def choose(candidate: Candidate) -> Chosen | None:
        found = chosen(round_.whom, candidate, dealer, now)
        if found is None:
            return None
        return Chosen(left_out(round_.kind, candidate, dealer, now), found.due)

    return choose


def deciding(round_: Round, dealer: Dealer, now: datetime) -> Decide:
    """What becomes of a message, as things stand when it is to leave."""

    def decide(candidate: Candidate) -> Fate:
        person = candidate.person
        if (why := left_out(round_.kind, candidate, dealer, now)) is not None:
            return Skip(why)
        at = leaves_at(round_, person.zone, person.quiet, candidate.share, now)
        if at > now:
            return Wait(at)
        if round_.whom.looks_at and chosen(round_.whom, candidate, dealer, now) is None:
            return Skip("settled")
        return Put(letter(round_, candidate, dealer))

    return decide
