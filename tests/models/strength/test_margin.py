"""All modes on whole specimens and wings: hand calculation, monotone behaviour, scaling, convergence."""

from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.strength import Margins, check, sentence
from models.strength.cap_stress import cap_stress
from models.wing.reading import read

WINGS = Path(str(files("models.wings")))


@cache
def wing(name: str, per_bay: int = 4) -> Margins:
    return check(analyse(read(WINGS / f"{name}.toml"), per_bay=per_bay))


def changed(folder: Path, name: str, *swaps: tuple[str, str]) -> Margins:
    text = (WINGS / f"{name}.toml").read_text()
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    path = folder / "changed.toml"
    path.write_text(text)
    return check(analyse(read(path)))


def least(margins: Margins, mode: str) -> float:
    return min(row.reserve_factor for row in margins.rows if row.mode == mode)


def worst(margins: Margins, mode: str, bay: int) -> float:
    return min(row.reserve_factor for row in margins.rows if row.mode == mode and row.bay == bay)


def test_webbed_specimen_by_hand() -> None:
    # spar-c: 1 N at 360 mm, caps 10 x 6 on axes 24 mm apart, web 1.6 mm, all of one balsa of 184 kg/m3.
    margins = wing("spar-c")
    flow = 1.0 / 0.024
    # 8 %: the caps bear some of the shear themselves, and the flow is V Q/I rather than V/h.
    shear = 2.1e6 * 184 / 160
    assert_allclose(worst(margins, "web shear", 3), shear / (flow / 1.6e-3), rtol=0.08)
    # Upright grain on spanwise grain: a third of the shear strength, over a lap of 6 mm.
    assert_allclose(worst(margins, "glue line", 3), shear / 3 / (flow / 6e-3), rtol=0.08)
    # Caps at mid-bay 3: plain bending of both caps together.
    stress = cap_stress(analyse(read(WINGS / "spar-c.toml")))
    inertia = 2 * (0.01 * 0.006**3 / 12 + 0.01 * 0.006 * 0.012**2)
    at = np.flatnonzero(np.isclose(stress.y[:, 1], 0.15, rtol=1e-6))
    assert len(at) == 2
    # 3 %: strips of the web glued on the caps take a little (E across is 1.5 % of E along).
    assert_allclose(np.abs(stress.mean[at, 1, 0]), 0.21 * 0.012 / inertia, rtol=0.03)
    # A C under a force beside its shear centre bends its caps sideways too: at least the upright share.
    assert (stress.bending[at, 1, 0] > 0.9 * 0.21 * 0.003 / inertia).all()


def test_open_specimen_by_hand() -> None:
    # Caps of an open bay bend as beams held at both posts, M = V/2 x p/2 at rigid posts; soft feet give more.
    margins = wing("spar-open")
    section = 0.01 * 0.006**2 / 6
    at_face = 0.5 * (0.06 / 2 - 0.001)
    rigid = 1 / (0.33 / (0.024 * 6e-5) / (11.7e6 * 184 / 160) + at_face / section / (20.2e6 * 184 / 160))
    assert least(margins, "cap bending, open bay") < 1.1 * rigid
    assert margins.first().mode in ("cap bending, open bay", "rib post")
    assert not any(row.mode.startswith(("web", "glue")) for row in margins.rows)


def test_twice_the_load_halves_every_reserve(tmp_path: Path) -> None:
    once, twice = wing("spar-c"), changed(tmp_path, "spar-c", ('tip_force = "1 N"', 'tip_force = "2 N"'))
    reserve = {(row.mode, row.part): row.reserve_factor for row in once.rows}
    assert len(twice.rows) == len(once.rows) > 20
    for row in twice.rows:
        assert_allclose(row.reserve_factor, reserve[row.mode, row.part] / 2, rtol=1e-8)


def test_load_factor_at_first_failure_does_not_follow_the_case(tmp_path: Path) -> None:
    # Lift and inertia are both proportional to n.
    asked = read(WINGS / "trainer.toml").case.load_factor
    more = changed(tmp_path, "trainer", (f"load_factor = {asked:g}", f"load_factor = {asked / 2:g}"))
    assert_allclose(
        more.load_factor_at_first_failure(), wing("trainer").load_factor_at_first_failure(), rtol=1e-6
    )


@pytest.mark.parametrize("thickness", ["2 mm", "3 mm"])
def test_a_thicker_web_never_lowers_its_own_shear_reserve(tmp_path: Path, thickness: str) -> None:
    thin, thick = (
        wing("spar-c"),
        changed(tmp_path, "spar-c", ('thickness = "1.6 mm"', f'thickness = "{thickness}"')),
    )
    for bay in range(1, 7):
        assert worst(thick, "web shear", bay) > worst(thin, "web shear", bay)
        assert worst(thick, "web shear buckling", bay) > worst(thin, "web shear buckling", bay)


@pytest.mark.parametrize(
    ("figure", "mode"),
    [
        ("shear", "web shear"),
        ("shear", "glue line"),
        ("compression", "cap compression"),
        ("tension", "cap tension"),
        ("compression", "cap buckling"),
        ("bending", "cap compression"),
    ],
)
def test_stronger_wood_never_lowers_a_reserve(tmp_path: Path, figure: str, mode: str) -> None:
    strong = changed(tmp_path, "spar-c", ("nu_RT = 0.665", f'nu_RT = 0.665\n{figure} = "40 MPa"'))
    reserve = {(row.mode, row.part): row.reserve_factor for row in wing("spar-c").rows}
    for row in strong.rows:
        assert row.reserve_factor >= reserve[row.mode, row.part] * (1 - 1e-9)
    assert least(strong, mode) > least(wing("spar-c"), mode)


def test_spanwise_grain_is_glued_better_and_buckles_sooner(tmp_path: Path) -> None:
    along = changed(tmp_path, "spar-c", ('grain = "upright"', 'grain = "span"'))
    upright = wing("spar-c")
    assert_allclose(worst(along, "glue line", 4) / worst(upright, "glue line", 4), 3.0, rtol=0.1)
    assert worst(along, "web shear buckling", 4) < worst(upright, "web shear buckling", 4)


@pytest.mark.parametrize("name", ["powered-tailless", "trainer", "sailplane"])
def test_first_failure_converges_with_the_mesh(name: str) -> None:
    coarse, fine = wing(name), wing(name, 8)
    # 1 %: what a doubling of the mesh may change.
    assert_allclose(coarse.load_factor_at_first_failure(), fine.load_factor_at_first_failure(), rtol=1e-2)
    assert coarse.first().part == fine.first().part


@pytest.mark.parametrize("name", ["powered-tailless", "trainer", "sailplane", "spar-c", "spar-open"])
def test_rows_are_sorted_sound_and_sourced(name: str) -> None:
    margins = wing(name)
    reserves = [row.reserve_factor for row in margins.rows]
    assert reserves == sorted(reserves)
    assert all(r > 0 for r in reserves)
    for row in margins.rows:
        assert_allclose(row.allowable / row.applied, row.reserve_factor, rtol=1e-6)
        assert row.unit in ("Pa", "N/m", "N")
        assert "[" in row.source or "no source" in row.source
    keys = [(row.side, row.spar, row.bay) for row in margins.by_bay()]
    assert len(keys) == len(set(keys)) > 4
    smallest = min(np.nanmin(v) for v in margins.element_reserve.values() if not np.isnan(v).all())
    assert_allclose(smallest, reserves[0], rtol=1e-12)


def test_sentence_names_bay_spar_and_load() -> None:
    words = sentence(wing("trainer"))
    assert words.startswith("Bay ")
    assert "main spar, starboard fails first, at " in words
    assert " g: " in words
    assert "times its load" in sentence(wing("spar-c"))
