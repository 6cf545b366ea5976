"""Published numbers, each with its source beside it. `from memory`: could not be read again in print.

The handbook dosages were remembered by someone who knew the stoichiometry, so their agreement is weak evidence.
"""

import numpy as np
import pytest

from dosing import SUBSTANCES, Water, active_chlorine, activity, add, equilibrate, equilibria, langelier, speciate
from dosing.chlorine import RINGS
from dosing.massaction import constants_at

K25 = 298.15
LITRES_PER_10000_US_GALLONS = 37854.12
GRAMS_PER_POUND = 453.592
GRAMS_PER_OUNCE = 28.3495
ML_PER_FLUID_OUNCE = 29.5735


@pytest.mark.parametrize(
    ("constant", "published", "tolerance"),
    [
        # Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, abstract.
        (equilibria.calcite_plummer_busenberg_1982, -8.480, 0.001),
        (equilibria.aragonite_plummer_busenberg_1982, -8.336, 0.001),
        (equilibria.cahco3_pair_plummer_busenberg_1982, 1.11, 0.07),
        (equilibria.caco3_pair_plummer_busenberg_1982, 3.22, 0.14),
        (equilibria.caco3_pair_plummer_busenberg_1982, 3.224, 0.002),
        (equilibria.k1_plummer_busenberg_1982, -6.352, 0.001),
        (equilibria.k2_plummer_busenberg_1982, -10.329, 0.001),
        (equilibria.kh_plummer_busenberg_1982, -1.468, 0.001),
        # phreeqc.dat of 22 May 2024: the values printed beside its analytic expressions.
        (equilibria.kw_phreeqc, -13.995, 0.001),
        (equilibria.kh_phreeqc, -1.468, 0.001),
        (equilibria.calcite_phreeqc_2024, -8.48, 0.001),
        (equilibria.cahco3_pair_phreeqc_2024, 10.91, 0.01),
        (equilibria.nahco3_pair_phreeqc_2024, -0.06, 1e-9),
        (equilibria.caso4_pair_phreeqc, 2.25, 1e-9),
        (equilibria.hso4_phreeqc, 1.988, 0.001),
        (equilibria.caoh_pair_phreeqc, -12.78, 1e-9),
        (equilibria.boric_phreeqc, -9.24, 1e-9),
        # Manov, DeLollis & Acree 1944, J. Res. NBS 33:287: 9.24 (the formula gives 9.2348).
        (equilibria.boric_manov_1944, -9.2348, 1e-4),
        # Davis, Water and Wastewater Engineering, ex. 13-1: pKa 7.54.
        (equilibria.hocl_morris_1966, -7.54, 0.004),
        # Encyclopaedias give 8.65.
        (equilibria.hobr_nbs_1982, -8.65, 1e-9),
        # Wahman 2018, Environ. Sci.: Water Res. Technol. 4:1522.
        (equilibria.cyanuric_acid_wahman_2018, -6.966, 0.001),
        # Wahman & Alexander 2019, Environ. Eng. Sci. 36:283: 4.65 +- 0.059.
        (equilibria.dichlorocyanurate_hydrolysis_wahman_2019, -4.65, 0.003),
        # Larson & Buswell 1942, J. AWWA 34:1667: agrees with 1982 to 0.003.
        (equilibria.k2_larson_buswell_1942, -10.329, 0.003),
    ],
)
def test_constants_at_25_degrees(constant, published: float, tolerance: float) -> None:
    assert constant(K25) == pytest.approx(published, abs=tolerance)


@pytest.mark.parametrize(
    # Standard Methods 2330 B, table of pK2, pKs, pKw and A (from memory).
    ("celsius", "pk2", "pks", "pkw", "a"),
    [(5, 10.55, 8.39, 14.73, 0.494), (25, 10.33, 8.48, 13.99, 0.511), (40, 10.22, 8.58, 13.53, 0.526)],
)
def test_table_of_standard_methods(celsius: float, pk2: float, pks: float, pkw: float, a: float) -> None:
    kelvin = celsius + 273.15
    assert -equilibria.k2_plummer_busenberg_1982(kelvin) == pytest.approx(pk2, abs=0.006)
    assert -equilibria.calcite_plummer_busenberg_1982(kelvin) == pytest.approx(pks, abs=0.006)
    assert -equilibria.kw_phreeqc(kelvin) == pytest.approx(pkw, abs=0.007)
    assert activity.debye_hueckel(kelvin).a == pytest.approx(a, abs=0.002)


def test_alternative_constants_stay_as_near_as_their_authors_say() -> None:
    kelvin = np.linspace(5, 42, 20) + 273.15
    assert np.all(abs(equilibria.boric_manov_1944(kelvin) - equilibria.boric_phreeqc(kelvin)) < 0.031)
    assert np.all(abs(equilibria.kh_plummer_busenberg_1982(kelvin) - equilibria.kh_phreeqc(kelvin)) < 4e-4)
    larson, plummer = equilibria.k2_larson_buswell_1942(kelvin), equilibria.k2_plummer_busenberg_1982(kelvin)
    assert np.all(abs(larson - plummer) < 0.004)


@pytest.mark.parametrize(
    ("celsius", "density"),
    [(0, 0.999840), (10, 0.999700), (25, 0.997045), (38, 0.992965), (60, 0.983199), (100, 0.958364)],
)
def test_density_of_water_by_kell_1975(celsius: float, density: float) -> None:
    # Kell 1975, J. Chem. Eng. Data 20:97 (from memory).
    assert activity.density_kell_1975(celsius) == pytest.approx(density, abs=5e-6)


@pytest.mark.parametrize(
    # PHREEQC 3.8.6 by its own functions EPS_R, DH_A, DH_B.
    ("celsius", "permittivity", "a", "b"),
    [(5, 85.88364, 0.4942413, 0.3253836), (25, 78.38442, 0.5100248, 0.3284906), (42, 72.49758, 0.5261399, 0.3312907)],
)
def test_debye_hueckel_as_in_phreeqc(celsius: float, permittivity: float, a: float, b: float) -> None:
    kelvin = celsius + 273.15
    assert activity.permittivity_bradley_pitzer_1979(kelvin) == pytest.approx(permittivity, rel=1e-5)
    assert activity.debye_hueckel(kelvin).a == pytest.approx(a, rel=3e-5)
    assert activity.debye_hueckel(kelvin).b == pytest.approx(b, rel=3e-5)


def percent_hocl(ph: float, celsius: float) -> float:
    shares = active_chlorine(1.0, 0.0, ph, celsius, ionic_strength=0.0)
    return 100 * shares.hocl / (shares.hocl + shares.ocl)


def test_percent_hocl_of_davis() -> None:
    # Davis, Water and Wastewater Engineering, ex. 13-1: pH 7.0, 25 degC, 77.63 % with a pKa of 7.54.
    assert percent_hocl(7.0, 25) == pytest.approx(77.63, abs=0.2)


@pytest.mark.parametrize(
    # White's Handbook of Chlorination and many after it, computed from Morris 1966 (from memory): 20 degC.
    ("ph", "percent"),
    [(6.0, 97.5), (7.0, 79.3), (7.5, 54.8), (8.0, 27.7), (9.0, 3.7)],
)
def test_percent_hocl_table_at_20_degrees(ph: float, percent: float) -> None:
    assert percent_hocl(ph, 20) == pytest.approx(percent, abs=0.3)


@pytest.mark.parametrize(
    # Fair et al. 1948 as reprinted in manuals (from memory): an older, larger constant that Morris 1966 replaced.
    ("ph", "celsius", "percent"),
    [(7.0, 20, 75.2), (7.5, 20, 48.9), (8.0, 20, 23.2), (7.0, 0, 83.3), (7.5, 0, 61.3), (8.0, 0, 32.2)],
)
def test_the_older_table_lies_lower_by_a_tenth_of_a_ph_unit(ph: float, celsius: float, percent: float) -> None:
    assert percent_hocl(ph + 0.15, celsius) < percent < percent_hocl(ph, celsius)


def test_cyanurate_ionisation_doubles_from_5_to_35_degrees() -> None:
    # Wahman 2018, abstract: the share of H2Cy- at pH 7 "effectively doubles".
    cold, warm = (1 / (1 + 10 ** (-equilibria.cyanuric_acid_wahman_2018(t + 273.15) - 7)) for t in (5, 35))
    assert warm / cold == pytest.approx(2.15, abs=0.02)


def test_the_cycles_of_the_cyanurate_constants_close() -> None:
    # O'Brien, Morris & Butler 1974 (from memory): acid pK 3.75, 5.33, 10.12, 6.88, 11.40 and hydrolysis pK by two ways.
    log_k = {name: ring.log_k_25 for name, ring in RINGS.items()}
    assert log_k["h2clcy"] == pytest.approx(4.07)
    assert log_k["hclcy"] == pytest.approx(log_k["h2cy"] + 5.62)
    assert log_k["clcy"] == pytest.approx(log_k["hcy"] + 6.90)
    assert log_k["cl2cy"] == pytest.approx(log_k["hclcy"] + 4.51)
    assert log_k["hcl2cy"] == pytest.approx(log_k["h2clcy"] + 2.93)
    assert log_k["cl3cy"] == pytest.approx(log_k["hcl2cy"] + 1.8)
    assert log_k["cy"] == pytest.approx(log_k["hcy"] - 13.5)


def test_cyanurate_constants_warm_as_wahman_measured() -> None:
    kelvin = np.array([278.15, 298.15, 308.15])
    proton = equilibria.cyanuric_acid_wahman_2018(kelvin) - equilibria.cyanuric_acid_wahman_2018(K25)
    hydrolysis = equilibria.dichlorocyanurate_hydrolysis_wahman_2019(kelvin)
    hydrolysis = hydrolysis - equilibria.dichlorocyanurate_hydrolysis_wahman_2019(K25)
    np.testing.assert_allclose(equilibria.ring_proton_wahman_2018(kelvin), proton, atol=0.001)
    np.testing.assert_allclose(-equilibria.chlorination_wahman_2019(kelvin), hydrolysis, atol=0.001)


def test_hydrolysis_of_the_rings_as_published() -> None:
    # K of HClCy- + H2O = H2Cy- + HOCl is 10^-5.62 and of Cl2Cy- = HClCy- + HOCl 10^-4.51 at 25 degC (O'Brien 1974).
    # With little chlorine on much cyanurate at pH 7.5, HOCl = 10^-5.62 [HClCy-] / [H2Cy-].
    shares = active_chlorine(0.01, 100.0, 7.5, 25, ionic_strength=0.0)
    ionised = 100.0 / 129.074e3 / (1 + 10 ** (6.88 - 7.5))
    monochloro = shares.bound / 70.906e3 / (1 + 10 ** (5.33 - 7.5) + 10 ** (7.5 - 10.12))
    assert shares.hocl / 70.906e3 == pytest.approx(10**-5.62 * monochloro / ionised, rel=2e-3)


@pytest.mark.parametrize(
    # Correction of alkalinity for each mg/L of cyanuric acid, operator handbook after Wojtowicz (from memory).
    ("ph", "factor"),
    [(7.2, 0.27), (7.4, 0.31), (7.6, 0.33), (7.8, 0.35), (8.0, 0.36)],
)
def test_alkalinity_that_is_cyanurate(ph: float, factor: float) -> None:
    with_it, without = (
        speciate(Water(ph, 150.0, cyanuric_acid=cya, temperature=25.0, tds=1100)).carbonate_alkalinity
        for cya in (50.0, 0.0)
    )
    assert (without - with_it) / 50 == pytest.approx(factor, abs=0.006)


def test_pure_water_in_air() -> None:
    # Textbooks (from memory): rain at 420 ppm of CO2 and 25 degC has pH 5.6.
    rain = equilibrate(Water(6.0, 0.0, 0.0, temperature=25.0, tds=0.0), 420e-6)
    assert rain.ph == pytest.approx(5.60, abs=0.005)


def test_calcite_dissolved_in_air() -> None:
    # Textbooks (from memory): calcite and 10^-3.5 atm of CO2 at 25 degC, pH 8.3 and about 0.5 mmol/L of calcium.
    calcium = 0.491
    water = Water(7.0, calcium * 2 * 50.0435, calcium * 100.0869, temperature=25.0, tds=0.0)
    open_water = equilibrate(water, 10**-3.5)
    assert open_water.ph == pytest.approx(8.279, abs=0.003)
    assert speciate(open_water).saturation_index == pytest.approx(0.0, abs=0.005)


@pytest.mark.parametrize(("ph", "alkalinity"), [(8.11, 40), (8.28, 60), (8.40, 80), (8.49, 100), (8.56, 120)])
def test_where_jets_end_at_38_degrees(ph: float, alkalinity: float) -> None:
    # PHREEQC 3.8.6: from pH 7.2, hardness 150, solids 600, to air with 420 ppm of CO2.
    assert equilibrate(Water(7.2, float(alkalinity), tds=600), 420e-6).ph == pytest.approx(ph, abs=0.006)


@pytest.mark.parametrize(("cya", "borate", "ph"), [(0.0, 0.0, 6.885), (50.0, 0.0, 6.938), (0.0, 50.0, 6.999)])
def test_acid_in_buffered_and_unbuffered_water(cya: float, borate: float, ph: float) -> None:
    # PHREEQC 3.8.6: alkalinity 90, hardness 150, 38 degC, solids 900, pH 7.5, 30 mg/L of 31.45 % hydrochloric acid.
    water = Water(7.5, 90.0, 150.0, cya, borate, 38.0, 900)
    assert add(water, "hydrochloric_acid", 30 * 0.3145).ph == pytest.approx(ph, abs=0.002)


@pytest.mark.parametrize(
    # Operator's handbook, per 10,000 US gallons (from memory); fraction of pure substance in the product.
    ("substance", "effect", "change", "grams", "fraction", "within"),
    [
        ("sodium_bicarbonate", "alkalinity", 10, 1.4 * GRAMS_PER_POUND, 1.0, 0.01),
        ("hydrochloric_acid", "alkalinity", -10, 26 * ML_PER_FLUID_OUNCE * 1.16, 0.3145, 0.02),
        ("calcium_chloride", "calcium_hardness", 10, 0.9 * GRAMS_PER_POUND, 1.0, 0.03),
        ("calcium_chloride", "calcium_hardness", 10, 1.2 * GRAMS_PER_POUND, 0.77, 0.01),
        ("sodium_dichlor", "free_chlorine", 1, 2.4 * GRAMS_PER_OUNCE, 1.0, 0.02),
        ("sodium_dichlor_anhydrous", "free_chlorine", 1, 2.1 * GRAMS_PER_OUNCE, 0.62 / 0.6447, 0.03),
        ("calcium_hypochlorite", "free_chlorine", 1, 2.0 * GRAMS_PER_OUNCE, 0.67 / 0.9918, 0.01),
        ("sodium_hypochlorite", "free_chlorine", 1, 10.7 * ML_PER_FLUID_OUNCE, 0.12 * 74.439 / 70.906, 0.01),
        ("cyanuric_acid", "cyanuric_acid", 10, 13 * GRAMS_PER_OUNCE, 1.0, 0.03),
    ],
)
def test_handbook_dosages(
    substance: str, effect: str, change: float, grams: float, fraction: float, within: float
) -> None:
    mg_per_litre = grams * fraction * 1000 / LITRES_PER_10000_US_GALLONS
    tub = Water(7.5, 100.0)
    after = add(tub, substance, mg_per_litre)
    assert getattr(after, effect) - getattr(tub, effect) == pytest.approx(change, rel=within)
    assert getattr(SUBSTANCES[substance], effect) * mg_per_litre == pytest.approx(change, rel=within)


def test_cyanurate_that_stabilised_chlorine_leaves() -> None:
    # Wahman & Alexander 2019, abstract: 0.89 and 0.59 mg of Cy (126.05 g/mol) for each mg of Cl2.
    for name, ratio in (("sodium_dichlor", 0.89), ("trichlor", 0.59)):
        substance = SUBSTANCES[name]
        assert substance.cyanuric_acid / substance.free_chlorine * 126.05 / 129.074 == pytest.approx(ratio, abs=0.005)


def test_langelier_lies_a_little_below_the_exact_index_in_a_salty_tub() -> None:
    # 520 tub-like waters against PHREEQC: 0.055 low on the mean with an ionic strength of 2.5e-5 times the solids.
    random = np.random.default_rng(3)
    tubs = Water(
        random.uniform(6.8, 8.4, 500),
        random.uniform(60, 220, 500),
        random.uniform(20, 400, 500),
        random.choice([0.0, 50.0], 500),
        random.choice([0.0, 30.0], 500),
        random.uniform(12, 41, 500),
        random.uniform(150, 2500, 500),
    )
    gap = langelier(tubs) - speciate(tubs).saturation_index
    assert gap.mean() == pytest.approx(-0.045, abs=0.02)
    assert gap.std() < 0.05


def test_langelier_follows_its_formula() -> None:
    # pH 7.5, carbonate alkalinity 100, hardness 200, 25 degC, 400 mg/L of solids, worked by hand:
    # I 0.01, pfm 0.510 (0.0909 - 0.003) = 0.0448; pHs = 10.329 - 8.480 + 2.699 + 2.703 + 0.224.
    water = Water(7.5, 100.0, 200.0, temperature=25.0, tds=400.0)
    assert langelier(water) == pytest.approx(7.5 - 7.475, abs=0.003)


def test_langelier_of_strong_base_counts_all_alkalinity_as_carbonate() -> None:
    # Above pK2 half of the equivalents are CO3--: the index is log10(Ca CO3 / Ks), each ion with 4 pfm of Davies.
    water, kelvin = Water(12.5, 5000.0, 200.0, temperature=25.0, tds=4000.0), np.array(K25)
    root = np.sqrt(2.5e-5 * 4000.0)
    pfm = activity.debye_hueckel(kelvin).a * (root / (1 + root) - 0.3 * root**2)
    calcium, carbonate = 200.0 / 100.0869e3, speciate(water).carbonate_alkalinity / 100.087e3
    product = np.log10(calcium * carbonate) - equilibria.calcite_plummer_busenberg_1982(kelvin)
    assert langelier(water) == pytest.approx(float(product - 8 * pfm), abs=0.004)


@pytest.mark.parametrize("celsius", [5.0, 38.0])
def test_each_ionisation_and_each_chlorine_of_a_ring_warms_by_its_own_law(celsius: float) -> None:
    kelvin = np.array([celsius + 273.15])
    proton, chlorine = equilibria.ring_proton_wahman_2018(kelvin), equilibria.chlorination_wahman_2019(kelvin)
    for name, constant in constants_at(kelvin).rings._asdict().items():
        ring = RINGS[name]
        warmed = ring.log_k_25 + ring.protons * proton + ring.chlorines * chlorine
        np.testing.assert_allclose(np.log10(constant), warmed, rtol=1e-12, err_msg=name)
