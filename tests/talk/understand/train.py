"""Train the net under the rules of danger from the labelled sentences, and say how it does on sentences kept back.

python -m tests.talk.understand.train            # the weights of all sentences, written
python -m tests.talk.understand.train --folds    # only what five folds miss: trained on four, asked about the fifth
"""

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from bot.talk.understand import flags
from bot.talk.understand.suspicion import KINDS, PLACES, SCALE, SUSPECT, kind_of
from bot.talk.understand.traits import windows

SENTENCES = Path(__file__).parent / "sentences"
WEIGHTS = Path(__file__).parents[3] / "bot" / "talk" / "understand" / "words" / "suspicion.bin"
STEPS, RATE, SHRINK = 150, 0.3, 2e-5


class Labelled(NamedTuple):
    language: str
    number: int
    text: str


def labelled() -> list[Labelled]:
    found = []
    for path in sorted(SENTENCES.rglob("*.txt")):
        for line in path.read_text(encoding="utf-8").splitlines():
            label, bar, text = line.partition("|")
            if bar and not line.startswith("#"):
                found.append(Labelled(path.stem, 0 if label == "-" else int(label), text))
    return found


def traits(texts: Sequence[str]) -> list[list[int]]:
    """Places of each text's traits, all stretches together."""
    return [sorted({place for window in windows(text, PLACES) for place in window}) for text in texts]


def fit(rows: Sequence[list[int]], kinds: Sequence[int]) -> np.ndarray:
    """Weights (PLACES + 1, kinds) of a softmax regression with a ridge, by Adam over all rows at once."""
    counts = np.array([max(len(row), 1) for row in rows])
    place = np.concatenate([np.array(row or [0]) for row in rows])
    row = np.repeat(np.arange(len(rows)), counts)
    value = 1 / np.sqrt(counts[row])
    wanted = np.eye(len(KINDS))[np.array(kinds)]
    weights = np.zeros((PLACES + 1, len(KINDS)))
    mean, square = np.zeros_like(weights), np.zeros_like(weights)
    for step in range(1, STEPS + 1):
        scores = np.tile(weights[-1], (len(rows), 1))
        for kind in range(len(KINDS)):
            scores[:, kind] += np.bincount(row, weights[place, kind] * value, len(rows))
        shares = np.exp(scores - scores.max(1, keepdims=True))
        shares /= shares.sum(1, keepdims=True)
        wrong = (shares - wanted) / len(rows)
        slope = SHRINK * weights
        slope[-1] = wrong.sum(0)
        for kind in range(len(KINDS)):
            slope[:-1, kind] += np.bincount(place, wrong[row, kind] * value, PLACES)
        mean = 0.9 * mean + 0.1 * slope
        square = 0.999 * square + 0.001 * slope**2
        weights -= RATE * (mean / (1 - 0.9**step)) / (np.sqrt(square / (1 - 0.999**step)) + 1e-8)
    return weights


def whole(weights: np.ndarray) -> np.ndarray:
    return np.clip(np.rint(weights * SCALE), -127, 127).astype(np.int8)


def danger(weights: np.ndarray, row: list[int]) -> float:
    """The chance that it is not harmless."""
    scores = (weights[-1] + weights[row].sum(0) / max(len(row), 1) ** 0.5) / SCALE
    shares = np.exp(scores - scores.max())
    return float(1 - shares[0] / shares.sum())


def folds(sentences: Sequence[Labelled], rows: Sequence[list[int]], count: int = 5) -> None:
    """Print by language: dangers that neither rules nor net notice, harmless texts that are asked about."""
    chance = np.zeros(len(rows))
    shuffled = np.random.default_rng(1).permutation(len(rows))
    for fold in range(count):
        kept = set(shuffled[fold::count].tolist())
        rest = [at for at in range(len(rows)) if at not in kept]
        weights = whole(fit([rows[at] for at in rest], [kind_of(sentences[at].number) for at in rest])).astype(float)
        for at in kept:
            chance[at] = danger(weights, rows[at])
    ruled = np.array([bool(flags(said.text)) for said in sentences])
    red = np.array([said.number > 0 for said in sentences])
    for language in sorted({said.language for said in sentences}):
        here = np.array([said.language == language for said in sentences])
        for bar in (0.2, 0.3, SUSPECT, 0.5):
            silent = (~ruled & (chance < bar))[here & red].mean()
            asked = (~ruled & (chance >= bar))[here & ~red].mean()
            print(f"{language} bar {bar}: silent {silent:.1%} of {(here & red).sum()}, asked {asked:.1%} of harmless")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folds", action="store_true")
    only_folds = parser.parse_args().folds
    sentences = labelled()
    rows = traits([said.text for said in sentences])
    if only_folds:
        folds(sentences, rows)
    else:
        WEIGHTS.write_bytes(whole(fit(rows, [kind_of(said.number) for said in sentences])).tobytes())


if __name__ == "__main__":
    main()
