"""What every test needs: one thread for linear algebra, and small specimens and wings made from text."""

from __future__ import annotations

import os

# Before numpy is imported for the first time: many small products on many threads only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest

from models.wing.reading import read_text

REFERENCE_BALSA = """
[woods.reference-balsa]
like = "balsa"
density = "184 kg/m3"
E_L = "3740 MPa"
E_R = "172.04 MPa"
E_T = "56.1 MPa"
G_LR = "201.96 MPa"
G_LT = "138.38 MPa"
G_RT = "18.7 MPa"
nu_LR = 0.229
nu_LT = 0.488
nu_RT = 0.665
"""
"""The wood of the solid reference spars."""


def specimen(
    faces="both",
    *,
    length=360.0,
    depth=30.0,
    pitch=60.0,
    caps='{ width = "10 mm", height = "6 mm", wood = "reference-balsa" }',
    webs=None,
    web=1.6,
    bays='"all"',
    grain="upright",
    post=2.0,
    case='tip_force = "1 N"\ntip_torque = "1 N m"',
    extra="",
):
    """One spar clamped at its root; sizes in mm. `webs` replaces the table of webs made from the rest."""
    if webs is None:
        webs = (
            f'[[spars.webs]]\nbays = {bays}\nface = "{faces}"\nthickness = "{web} mm"\n'
            f'wood = "reference-balsa"\ngrain = "{grain}"\n'
            if faces
            else ""
        )
    deep = f'"{depth} mm"' if not isinstance(depth, tuple) else f'["{depth[0]} mm", "{depth[1]} mm"]'
    return read_text(
        f"""
[specimen]
length = "{length} mm"
depth = {deep}
[ribs]
pitch = "{pitch} mm"
thickness = "{post} mm"
wood = "reference-balsa"
[[spars]]
name = "spar"
caps = {caps}
{webs}
{extra}
[case]
{case}
{REFERENCE_BALSA}
"""
    )


def flying_wing(
    *,
    stations='{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "600 mm", chord = "140 mm" }',
    ribs='count = 7\nthickness = "2 mm"',
    spars='[[spars]]\nname = "main"\nat = "30 %"\n'
    'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    '[[spars.webs]]\nbays = "all"\nface = "rear"\nthickness = "1.5 mm"\n',
    edges='[leading_edge]\nwidth = "8 mm"\nheight = "8 mm"\n'
    '[trailing_edge]\nwidth = "20 mm"\nheight = "5 mm"\n',
    case='load_factor = 5\nmass = "1.2 kg"\nmoment_coefficient = -0.05',
    head="",
    extra="",
):
    """A small wing in flight; every piece of its file may be replaced."""
    return read_text(
        f"{head}\n[planform]\nstations = [{stations}]\n[ribs]\n{ribs}\n{spars}\n{edges}\n{extra}\n"
        f"[case]\n{case}\n" + REFERENCE_BALSA
    )


@pytest.fixture(scope="session")
def make_specimen():
    return specimen


@pytest.fixture(scope="session")
def make_wing():
    return flying_wing
