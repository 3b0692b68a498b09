"""Water quality, filters and injection against printed tables and worked figures."""

import csv
import math
from pathlib import Path

import pytest
from scipy import stats

from evenrow.agronomy import filtration, injection, sampling, water_quality

GALLON, FOOT, POUND, OUNCE = 3.785411784e-3, 0.3048, 0.45359237, 0.45359237 / 16
FLUID_OUNCE = GALLON / 128
GPM = GALLON / 60
MG = 1e-3

TEXT = (Path(__file__).parent / "data" / "chlorine_injection.csv").read_text(encoding="utf-8")
CELLS = list(csv.DictReader(x for x in TEXT.splitlines() if not x.startswith("#")))


def test_every_cell_of_the_printed_chlorine_table():  # mark: published, see the data file
    assert len(CELLS) == 162
    for cell in CELLS:
        rate = injection.injection_rate(
            float(cell["flow_gpm"]) * GPM,
            float(cell["target_ppm"]) * MG,
            injection.liquid_strength(float(cell["stock_pct"]) / 100),
        )
        gph = rate / GALLON * 3600
        assert gph == pytest.approx(float(cell["table_gph"]), rel=0.003), cell


# Indiana Administrative Code, 327 IAC 8-3.4-24, table 24-1 (published): gallons of water in a
# well, ounces of granules of 65 %, fluid ounces of liquid of 12 trade per cent.  The table does
# not print its dose beside it; all its rows agree with 50 mg/L (computed).
WELLS = [
    (106.09, 1.1, 5.65),
    (146.9, 1.5, 7.8),
    (261.1, 2.7, 13.9),
    (408.0, 4.2, 1.4 * 16),
    (587.5, 6.0, 2.0 * 16),
    (1044.0, 10.7, 3.5 * 16),
    (1632.0, 17.0, 0.7 * 128),
    (2350.0, 24.0, 1.0 * 128),
    (3672.0, 38.0, 1.5 * 128),
    (5287.0, 54.0, 2.2 * 128),
    (9400.0, 6 * 16.0 + 1, 3.9 * 128),
]


@pytest.mark.parametrize(("gallons", "ounces", "fluid"), WELLS)
def test_granules_and_liquid_for_wells(gallons, ounces, fluid):  # mark: published
    volume, dose = gallons * GALLON, 50.0 * MG
    # The table's figures have two digits.
    granules = injection.solid_needed(volume, dose, 0.65)
    assert granules / OUNCE == pytest.approx(ounces, rel=0.035)
    liquid = volume * dose / injection.liquid_strength(0.12)
    assert liquid / FLUID_OUNCE == pytest.approx(fluid, rel=0.035)


def test_the_last_row_for_wells_fits_the_well_and_not_its_printed_volume():
    # Same table, 60 in (published): 11,690 gal, 9 lb 7 oz, 6.1 gal.  100 ft of such a well hold
    # 14,690 gal by geometry, and both doses are for that: the volume is a misprint.
    volume = math.pi * (2.5 * FOOT) ** 2 * 100 * FOOT
    assert volume / GALLON == pytest.approx(14_690, rel=0.001)
    granules = injection.solid_needed(volume, 50.0 * MG, 0.65)
    assert granules / OUNCE == pytest.approx(9 * 16 + 7, rel=0.035)
    liquid = volume * 50.0 * MG / injection.liquid_strength(0.12)
    assert liquid / GALLON == pytest.approx(6.1, rel=0.035)


def test_granules_for_three_thousand_gallons():
    # US Army, Military Water Supply (MD0160), batch chlorination: 3,000 gal at 8.34 lb/gal, 7 ppm,
    # 70 % available: 25,020 lb x 7 / 1e6 / 0.70 (inputs published, last step computed).
    mass = injection.solid_needed(3000 * GALLON, 7.0 * MG, 0.70)
    assert mass / POUND == pytest.approx(25_020 * 7 / 1e6 / 0.70, rel=0.002)


def test_chlorine_gas_in_pounds_a_day():
    # University of California, Maintenance of Microirrigation Systems (published): 0.012 Q C.
    a_day = injection.solid_needed(100 * GPM * 86_400, 10.0 * MG, 1.0)
    assert a_day / POUND == pytest.approx(0.012 * 100 * 10, rel=0.005)


@pytest.mark.parametrize(("ph", "low", "high"), [(7.0, 0.75, 0.80), (8.0, 0.22, 0.28)])
def test_hypochlorous_share(ph, low, high):
    # University of California, as above (published): at least 75 % at pH 7, about 25 % at 8.
    assert low <= injection.hypochlorous_share(ph) <= high


# The classes as a printed table that quotes them gives them; bacteria in counts a millilitre.
PRINTED = {
    "suspended": (50, 100, MG),
    "ph": (7.0, 8.0, 1.0),
    "dissolved": (500, 2000, MG),
    "manganese": (0.1, 1.5, MG),
    "iron": (0.1, 1.5, MG),
    "sulphide": (0.5, 2.0, MG),
    "bacteria": (10_000, 50_000, 1e6),
}


@pytest.mark.parametrize("name", PRINTED)
def test_clogging_classes(name):  # mark: published
    low, high, unit = PRINTED[name]
    assert water_quality.hazard(name, 0.99 * low * unit) == water_quality.SLIGHT
    assert water_quality.hazard(name, low * unit) == water_quality.MODERATE
    assert water_quality.hazard(name, high * unit) == water_quality.MODERATE
    assert water_quality.hazard(name, 1.01 * high * unit) == water_quality.SEVERE


def test_clogging_classes_of_the_stricter_table():
    # Pitts, Haman and Smajstrla (1990) as printed by the University of Florida (published).
    stricter = {
        (name, value): water_quality.hazard(name, value * unit, stricter=True)
        for name, value, unit in (("ph", 7.4, 1), ("ph", 7.6, 1), ("sulphide", 0.3, MG))
    }
    assert list(stricter.values()) == [1, 2, 1]


def test_sieves():
    # ASTM E11 openings in micrometres (published).
    printed = {80: 180, 100: 150, 120: 125, 140: 106, 200: 75}
    assert {mesh: round(opening * 1e6) for mesh, opening in filtration.SIEVES} == printed


def test_a_passage_of_seven_tenths_of_a_millimetre():
    # A seventh to a tenth: 100 to 70 micrometres, so 200 mesh, or nothing coarser than 70
    # (rule from memory, openings published).
    assert filtration.fineness(0.7e-3)[0] == 200
    assert not filtration.fineness(0.7e-3, filtration.STRICT_SHARE)[2]


def test_flow_through_a_square_foot_of_screen():
    # University of California, pressurized screen filters (published): 150 to 200 gal/min.
    low, high = filtration.RATES["screen"]
    assert (low * FOOT**2 / GPM, high * FOOT**2 / GPM) == pytest.approx((150.0, 200.0))


@pytest.mark.parametrize("freedom", [1, 3, 7, 15, 35, 99, 1999])
@pytest.mark.parametrize("share", [0.001, 0.025, 0.5, 0.95, 0.975, 0.999])
def test_points_of_chi_square(freedom, share):  # mark: computed by a reference library
    point = stats.chi2.ppf(share, freedom)
    assert sampling.chi_square(share, freedom) == pytest.approx(point, rel=1e-8)
