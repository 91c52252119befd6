"""`bench --by-hand`: document, words, options and the file's own table."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from models.loads.hand_test import HandLoad
from models.strength import check
from models.studies.hand_test import half, hold
from models.wing.reading import read

COARSE = ("--mesh", "1")


def first(run) -> dict:
    """What the first load does to the wing as drawn."""
    assert run.code == 0, run.err
    return run.document["loads"][0]["layouts"][0]


def test_document_and_words(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file()
    run = sparbay("bench", "--by-hand", file, "--mass", "500g", "--couple", "1 N m", *COARSE, "--json")
    found = run.document
    bag, twist = found["loads"]
    assert_allclose(bag["force_N"], -0.5 * 9.80665)
    names = [row["layout"] for row in bag["layouts"]]
    assert names[0] == "as drawn"
    assert {"no webs", "box"} < set(names)
    drawn, bare = bag["layouts"][0], bag["layouts"][names.index("no webs")]
    assert bare["deflection_m"] < drawn["deflection_m"] < 0
    assert_allclose(drawn["stiffness_N_per_m"], bag["force_N"] / drawn["deflection_m"])
    assert drawn["torsional_stiffness_N_m_per_rad"] is None
    turned = twist["layouts"][0]
    assert_allclose(turned["torsional_stiffness_N_m_per_rad"], 1 / turned["twist_rad"])
    assert_allclose(drawn["ribs"][-1]["deflection_m"], drawn["deflection_m"])
    assert drawn["mid_bays"][0]["upper_cap_stress_Pa"] > 0  # bent down
    whole = sparbay("bench", "--by-hand", file, "--mass", "500g", "--couple", "1 N m", *COARSE, "--full")
    text = " ".join(whole.out.split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])
    assert "mm down" in found["answer"]["sentences"][0]
    assert "degrees nose up" in found["answer"]["sentences"][1]


@pytest.mark.parametrize(
    "more",
    [
        ("--mass", "250g"),
        ("--mass", "500g", "--rib", "6"),
        ("--mass", "500g", "--at", "trailing edge"),
        ("--mass", "500g", "--held-at", "3"),
        ("--force", "2N"),
        ("--mass", "500g", "--mesh", "2"),
        ("--couple", "1 N m"),
    ],
)
def test_every_option_matters(sparbay: Callable, wing_file: Callable, more: tuple[str, ...]) -> None:
    file = wing_file()
    plain = first(sparbay("bench", "--by-hand", file, "--json", *COARSE, "--mass", "500g"))
    other = first(sparbay("bench", "--by-hand", file, "--json", *COARSE, *more))
    assert other["deflection_m"] != plain["deflection_m"]


TABLE = '[hand_test]\nhang = [{ mass = "500 g" }]\n\n[planform]'


@pytest.mark.parametrize(
    "table",
    [
        'hang = [{ mass = "400 g" }]',
        'hang = [{ mass = "500 g", rib = 7 }]',
        'hang = [{ mass = "500 g", at = "leading edge" }]',
        'held_at = 2\nhang = [{ mass = "500 g" }]',
    ],
)
def test_every_key_of_the_file_matters(sparbay: Callable, wing_file: Callable, table: str) -> None:
    plain = first(sparbay("bench", "--by-hand", wing_file(("[planform]", TABLE)), "--json", *COARSE))
    file = wing_file(("[planform]", f"[hand_test]\n{table}\n\n[planform]"))
    other = first(sparbay("bench", "--by-hand", file, "--json", *COARSE))
    assert other["deflection_m"] != plain["deflection_m"]


@pytest.mark.parametrize(
    ("table", "path"),
    [
        ('hang = [{ mass = "500 g", rib = 99 }]', "hand_test.hang[0].rib"),
        ('hang = [{ mass = "500 g", at = "keel" }]', "hand_test.hang[0].at"),
        ("held_at = 99", "hand_test.held_at"),
        ("held_at = 0", "hand_test.held_at"),
    ],
)
def test_bad_tables(sparbay: Callable, wing_file: Callable, table: str, path: str) -> None:
    run = sparbay("check", wing_file(("[planform]", f"[hand_test]\n{table}\n\n[planform]")))
    assert run.code == 2
    assert path in run.err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "no load"),
        (("--mass", "500g", "--at", "keel"), "keel"),
        (("--mass", "500g", "--rib", "99"), "99"),
        (("--mass", "500g", "--rib", "0"), "'0' is not a rib number"),
        (("--mass", "500g", "--held-at", "99"), "--held-at"),
        (("--mass", "500g", "--rib", "3", "--held-at", "3"), "farther out"),
        (("--force", "0N"), "force"),
        (("--couple", "5 N"), "5 N"),
    ],
)
def test_bad_input(sparbay: Callable, wing_file: Callable, options: tuple[str, ...], words: str) -> None:
    run = sparbay("bench", "--by-hand", wing_file(), *COARSE, *options)
    assert run.code == 2
    assert words in run.err


def test_a_specimen_is_refused(sparbay: Callable) -> None:
    run = sparbay("bench", "--by-hand", "spar-box", "--mass", "500g")
    assert run.code == 2
    assert "planform" in run.err


def test_it_says_where_small_movements_no_longer_hold(sparbay: Callable) -> None:
    for couple, holds in (("0.01 N m", True), ("0.5 N m", False)):
        found = sparbay("bench", "--by-hand", "trainer", "--couple", couple, *COARSE, "--json").document
        assert found["small_movements"]["hold"] is holds
        assert found["loads"][0]["layouts"][0]["small_movements_hold"] is holds
        said = any("small movements no longer hold" in one for one in found["answer"]["sentences"])
        assert said is not holds


def test_it_says_what_the_wing_bears_there(sparbay: Callable, wing_file: Callable) -> None:
    """In proportion to the load; a bag that would harm it is told first, and the command leaves with 1."""
    file = wing_file()

    def of(mass: str):
        run = sparbay("bench", "--by-hand", file, "--mass", mass, *COARSE, "--json")
        return run.code, run.document["loads"][0]["bears"], run.document["answer"]["sentences"][0]

    code, light, said = of("100 g")
    assert code == 0
    assert said.startswith("A 100 g bag")
    let = 0.1 * light["harmless_factor"]
    assert f"takes no harm from {int(1000 * let)} g there" in said
    assert 0.5 < light["harmless_factor"] / light["breaks_factor"] < 1
    code, heavy, said = of(f"{1.1 * let:.3f} kg")
    assert code == 1
    assert "strains the wing as drawn too far" in said
    assert said.startswith("Do not: ")
    assert_allclose(heavy["harmless_factor"] * 1.1, 1, rtol=1e-2)
    code, broken, said = of("20 kg")
    assert code == 1
    assert "breaks the wing as drawn" in said
    assert_allclose(broken["breaks_factor"] * 20, 0.1 * light["breaks_factor"], rtol=1e-9)


def test_what_breaks_is_what_a_check_of_the_same_solve_says(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay("bench", "--by-hand", wing_file(), "--mass", "500g", *COARSE, "--json")
    wing = read(wing_file())
    analysis = hold(half(wing, per_bay=1), [HandLoad.hung(0.5, wing.spars[0].name, len(wing.ribs))])
    first = check(analysis).rows[0]
    bears = run.document["loads"][0]["bears"]
    assert_allclose(bears["breaks_factor"], first.reserve_factor, rtol=1e-9)
    assert (bears["first_failure"], bears["mode"]) == (first.part.name, first.mode)
