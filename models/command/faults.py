"""Faults in a builder's words: what is wrong with the input, what the engine's exceptions mean."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.units_out import mass_words
from models.version import VERSION

if TYPE_CHECKING:
    from fea.solve import Mechanism
    from models.loads.pull_up import LightAeroplane
    from models.studies.speed import HeavyControl

LOG_NAME = "sparbay-error.log"


class InputFault(Exception):
    """The input or the options are wrong; the message is complete, a line a fault."""


def light_aeroplane(source: str, fault: LightAeroplane) -> InputFault:
    """A flying mass below that of the wing itself, as a fault of the file."""
    grams = fault.flying * 1e3
    meant = f"; was {grams:.4g} kg meant?" if fault.wing < grams < 100 * fault.wing else "."
    return InputFault(
        f'{source}: case.mass: "{say.mass(fault.flying):.4g}" is less than the wing and what it carries, '
        f"{say.mass(fault.wing):.4g}; give the mass of the whole aeroplane, or leave the key out where "
        f"there is nothing but the wing{meant}"
    )


def heavy_control(source: str, fault: HeavyControl) -> InputFault:
    """An elevon heavier than the wing where it hangs, as a fault of the file."""
    return InputFault(
        f"{source}: elevons.mass: {mass_words(fault.mass)} is more than the wing has behind "
        "the hinge; give the mass of one side's elevon as it is in the wing."
    )


_FREE = (
    "move fore and aft", "move along the span", "move up and down",
    "turn about the fore-and-aft line", "turn about the span", "turn about the upright line",
)  # fmt: skip


def mechanism(source: str, fault: Mechanism) -> InputFault:
    """A part that nothing holds, as a fault of the file.

    A fault of the input, not ours: every wing that has what its file describes joined up can be solved, so a
    part that moves freely is one that the file leaves without a neighbour to hold it.

    Parameters
    ----------
    source : str
        The file's name.
    fault : Mechanism
        With the parts that meet where the motion is greatest, and the motion.
    """
    motion = [abs(float(v)) for v in fault.motion[0]]
    how = _FREE[motion.index(max(motion))]
    if fault.parts:
        part, *others = fault.parts
        joined = f" (with {'; '.join(others[:3])})" if others else ""
        return InputFault(
            f"{source}: {part} is free to {how}{joined}: nothing that the file describes holds it there; "
            "add what joins it to the rest (a spar, web, rib, edge or sheeting)."
        )
    return InputFault(f"{source}: a part is free to {how}: nothing that the file describes holds it there.")


def log_of(error: BaseException) -> Path | None:
    """Write the traceback of an error of ours to a log file in a new temporary folder.

    Parameters
    ----------
    error : BaseException
        As it was caught.

    Returns
    -------
    Path or None
        The log file; None if it could not be written.
    """
    import tempfile
    import traceback

    try:
        path = Path(tempfile.mkdtemp(prefix="sparbay-")) / LOG_NAME
        about = f"sparbay {VERSION}, Python {sys.version.split()[0]}, {sys.platform}\n"
        path.write_text(about + "".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError:
        return None
    return path


def contradicting_flight(source: str, error: Exception) -> InputFault | None:
    """A mass or speed of `[flight]` that contradicts the rest of the file, as a fault of input."""
    from models.studies.envelope import Heavy, Slow

    if isinstance(error, Heavy):
        return InputFault(
            f'{source}: flight.loadings.{error.loading}.mass: "{say.mass(error.flying):.4g}" is less than '
            f"the wing and what it carries, {say.mass(error.wing):.4g}; give the mass of the whole aeroplane."
        )
    if isinstance(error, Slow):
        return InputFault(
            f'{source}: flight.{error.key}: "{say.speed(error.speed):.4g}" is below the stall speed of '
            f"{say.speed(error.stall):.4g} ({error.loading}); give a higher one in [flight] (where that has "
            "no cruise_speed, the case's speed stands for it), or a higher max_lift_coefficient."
        )
    return None
