"""Comparing the books after an ordeal: each check returns what is wrong, in words."""

from collections import Counter

from bot.run.verdict import REPEATED
from tests.kill.ordeal import Result, first_times
from tests.kill.program import REMIND_EVERY


def of_any(result: Result) -> list[str]:
    """What must hold whatever the conversation says."""
    wrong = []
    if not result.sound:
        wrong.append("the database is damaged")
    if len(result.updates) != result.made:
        wrong.append(f"{result.made - len(result.updates)} of {result.made} updates are lost")
    if set(result.inbox) - {"done"}:
        wrong.append(f"not everything was handled: {dict(result.inbox)}")
    for chat, rows in result.outbox.items():
        received = result.received[chat]
        for text, times in Counter(received).items():
            kept = sum(row[1] == text for row in rows)
            if times > kept and not text.startswith(REPEATED):
                wrong.append(f"{chat}: {text!r} came {times} times without a mark, and is kept {kept} times")
        arrived = set(first_times(received))
        for lane, text, state in rows:
            if state == "sent" and text not in arrived:
                wrong.append(f"{chat}: {text!r} is said to be sent and never arrived")
            if state == "failed" and lane in {"reply", "alert"}:
                wrong.append(f"{chat}: {text!r} was given up")
    return wrong


def of_count(result: Result) -> list[str]:
    """What must hold of the conversation that counts."""
    wrong = of_any(result)
    for chat, written in result.written.items():
        answers = [f"answer {text} {place}" for place, text in enumerate(written, 1)]
        received = first_times(result.received[chat])
        if [text for text in received if text.startswith("answer")] != answers:
            wrong.append(f"{chat}: the answers are not one for each message, in order")
        if result.journal[chat] != [f"note {text}" for text in written]:
            wrong.append(f"{chat}: the journal is not one entry for each message, in order")
        wanted = {f"reminder {text}" for text in written[REMIND_EVERY - 1 :: REMIND_EVERY]}
        reminders = [text for text in result.received[chat] if "reminder" in text]
        if len(reminders) != len(set(reminders)) or set(reminders) - wanted:
            wrong.append(f"{chat}: a reminder came twice, or one that nobody wanted")
        given_up = {text for lane, text, state in result.outbox[chat] if lane == "reminder" and state == "failed"}
        if wanted - set(reminders) - given_up:
            wrong.append(f"{chat}: a reminder is missing, and not because it was on its way when the program died")
    return wrong
