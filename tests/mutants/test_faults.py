"""Faults are planted where they say, one at a time, and none is a word to a reader."""

import ast

from tests.mutants.faults import faults, planted

SOURCE = '''"""A limit."""

LIMIT: float = 2.0


class Tub:
    """A tub."""

    def room(self, litres: float, *, most: float = 3.0) -> float:
        """How much more."""
        if litres < 0.0 and not self.open:
            raise ValueError("litres lie above 0")
        return max(LIMIT * most - litres, 0.0)
'''


def test_every_operator_number_limit_and_branch_is_a_fault_once() -> None:
    assert sorted((fault.line, fault.function, str(fault)) for fault in faults(SOURCE)) == [
        (3, "", "2.0  ->  2.2"),
        (9, "", "3.0  ->  3.3000000000000003"),
        (11, "Tub.room", "0.0  ->  1.0"),
        (11, "Tub.room", "litres < 0.0  ->  litres <= 0.0"),
        (11, "Tub.room", "litres < 0.0  ->  litres >= 0.0"),
        (11, "Tub.room", "litres < 0.0 and (not self.open)  ->  litres < 0.0 or not self.open"),
        (11, "Tub.room", "not self.open  ->  self.open"),
        (13, "Tub.room", "0.0  ->  1.0"),
        (13, "Tub.room", "LIMIT * most  ->  LIMIT / most"),
        (13, "Tub.room", "LIMIT * most - litres  ->  LIMIT * most + litres"),
        (13, "Tub.room", "max(LIMIT * most - litres, 0.0)  ->  min(LIMIT * most - litres, 0.0)"),
    ]


def test_a_fault_changes_the_source_where_it_says_and_nowhere_else() -> None:
    sound = ast.unparse(ast.parse(SOURCE)).splitlines()
    for number, _ in enumerate(faults(SOURCE)):
        faulty = ast.unparse(planted(SOURCE, number)).splitlines()
        assert len([one for one, other in zip(sound, faulty, strict=True) if one != other]) == 1
