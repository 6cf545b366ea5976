"""Waters of the rated range for hypothesis, each with carbonate of its own."""

from __future__ import annotations

from hypothesis import strategies as st

from dosing import Water, speciate


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def waters(draw: st.DrawFn, *, chlorine: float = 0.0, bromine: float = 0.0) -> Water:
    return draw(
        st.builds(
            Water,
            ph=numbers(6.0, 9.0),
            alkalinity=numbers(20, 400),
            calcium_hardness=numbers(0, 800),
            cyanuric_acid=st.just(0.0) | numbers(0, 300),
            borate=st.just(0.0) | numbers(0, 100),
            temperature=numbers(5, 42),
            tds=numbers(100, 4000),
            free_chlorine=numbers(0, chlorine),
            bromine=numbers(0, bromine),
        ).filter(lambda water: speciate(water).carbonate_alkalinity > 5)
    )
