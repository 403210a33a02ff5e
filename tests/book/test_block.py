import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import block
from matref.errors import BadInput

INCH_MM = 25.4

# Gould Paper, Bulk Determination Table: micrometer reading over 4 sheets (8 pages), inch -> pages per inch.
GOULD_TABLE = """
.0055:1454 .006:1332 .0065:1232 .007:1142 .0075:1066 .008:1000 .0085:942 .009:890 .0095:842 .010:800 .0105:762
.011:728 .0115:696 .012:666 .0125:640 .013:616 .0135:594 .014:570 .0145:552 .015:534 .0155:516 .016:500 .0165:484
.017:470 .0175:456 .018:444 .0185:432 .019:420 .0195:410 .020:400 .0205:390 .021:380 .0215:372 .022:364 .0225:356
.023:348 .0235:340 .024:332 .0245:326 .025:320 .0255:314 .026:308 .0265:302 .027:296 .0275:290 .028:286 .0285:280
.029:276 .0295:272 .030:268 .0305:262 .031:258 .0315:254 .032:250 .0325:246 .033:242 .0335:238 .034:234 .0345:232
.035:230 .0355:224 .0365:220 .037:216 .0375:214 .038:212 .0385:208 .039:206 .0395:202 .040:200
"""


@pytest.mark.parametrize("row", GOULD_TABLE.split())
def test_pages_per_inch_gould_table(row):
    reading, printed = row.split(":")
    leaf_um = float(reading) / 4 * 25_400
    assert abs(block.pages_per_inch(leaf_um) - int(printed)) <= 2


def test_gould_worked_example_of_320_pages():
    """Same page: 8 pages measure .016 in, so a book of 320 pages measures .64 in."""
    leaf_um = 0.016 / 4 * 25_400
    sections = 20
    assert block.pages(4, sections) == 320
    assert block.fore_edge_mm(4, sections, leaf_um) / INCH_MM == pytest.approx(0.64)


def test_wausau_shoptalk():
    """Wausau Paper, Shoptalk: 4.0 mil is 250 sheets, 500 pages per inch; 9.0 mil at ±5 % is 8.55 to 9.45."""
    assert block.leaves_per_inch(4.0 * 25.4) == pytest.approx(250)
    assert block.pages_per_inch(4.0 * 25.4) == pytest.approx(500)
    low, high = block.caliper_limits_um(9.0 * 25.4, 0.05)
    assert (low / 25.4, high / 25.4) == pytest.approx((8.55, 9.45))


def test_volume_18():
    """media54.com dictionary of printing, 'bulk': volume 18 -> 180 µm at 100 g/m² -> 1.8 cm³/g."""
    bulk = block.bulk_from_volume_cm3_g(18)
    assert bulk == pytest.approx(1.8)
    assert block.caliper_um(bulk, 100) == pytest.approx(180)


def test_a_block_counted_leaf_by_leaf():
    leaves = [0.103] * (2 * 4 * 8) + [0.15, 0.15]
    assert block.fore_edge_mm(4, 8, 103, endpapers_mm=0.3) == pytest.approx(math.fsum(leaves))


def test_uncertainty_example_block():
    """Own budget example: 8 sections of 4 sheets, 0.103 mm: the block is 6.6 mm."""
    assert block.fore_edge_mm(4, 8, 103) == pytest.approx(6.6, abs=0.05)


@pytest.mark.parametrize(("wanted", "sheets", "sections"), [(80, 4, 5), (81, 4, 6), (1, 4, 1), (96, 12, 2)])
def test_sections_for_pages(wanted, sheets, sections):
    assert block.sections_for_pages(wanted, sheets) == sections
    assert block.pages(sheets, sections) >= wanted
    assert sections == 1 or block.pages(sheets, sections - 1) < wanted


def test_pressed_leaf_of_a_published_block():
    """De Monsterkamer, opdikking: a finished block is about 8 % thinner than sheets times caliper."""
    leaves, caliper = 160, 100
    pressed = block.leaf_in_block_um(caliper, 0.92)
    assert leaves * pressed == pytest.approx(leaves * caliper * (1 - 0.08))


@pytest.mark.parametrize("factor", [0, 1.01, -0.1])
def test_pressing_never_thickens(factor):
    with pytest.raises(BadInput):
        block.leaf_in_block_um(100, factor)


@settings(deadline=None)
@given(st.floats(20, 900), st.floats(20, 900))
def test_bulk_identities_close(caliper, grammage):
    bulk = block.bulk_cm3_g(caliper, grammage)
    assert block.caliper_um(bulk, grammage) == pytest.approx(caliper)
    assert block.grammage_gsm(caliper, bulk) == pytest.approx(grammage)
    # one square metre: grams times cm³ per gram is the volume, a µm-thick layer of which is one cm³
    assert grammage * bulk == pytest.approx(1e6 * (caliper * 1e-6))


@settings(deadline=None)
@given(st.integers(1, 30), st.integers(1, 60), st.floats(20, 900), st.floats(0, 5))
def test_block_grows_with_everything(sheets, sections, leaf, endpapers):
    base = block.fore_edge_mm(sheets, sections, leaf, endpapers)
    assert base > 0
    assert block.fore_edge_mm(sheets + 1, sections, leaf, endpapers) > base
    assert block.fore_edge_mm(sheets, sections + 1, leaf, endpapers) > base
    assert block.fore_edge_mm(sheets, sections, leaf + 1, endpapers) > base
    # an inch of this paper holds as many pages as the book would have if it were an inch thick
    inch = block.pages(sheets, sections) * INCH_MM / (base - endpapers)
    assert block.pages_per_inch(leaf) == pytest.approx(inch, rel=1e-6)
