"""Built-up model wings from Python: read, build, analyse, check, compare, worth, lightest, report.

SI units everywhere: m, N, kg, Pa, rad; x aft, y to the starboard tip, z up. Nothing is loaded before it is
used. What is not listed here may change from one version to the next.

read : a wing file, or a wing shipped with the program, as a `Wing`
read_text : the same from text
shipped : paths of the wing files that come with the program, by name
build : the finite elements of a wing, with the map from its parts to them, as a `Model`
analyse : a wing built, loaded and solved for the case of its file, as an `Analysis`
check : reserve factors of every part in every mode of failure, as `Margins`
sentence : what fails first, in words
compare : what layouts of webs buy, a `LayoutResult` each
worth : what every web and size buys for its grams, as a `Worth`
lightest : the lightest layout of webs within `Limits`, as a `Lightest`
report : one file that says everything about one wing, HTML or PDF
spar_motion : deflection and twist along a spar, as a `SparMotion`
tip_deflection : of the outermost spar end
wing_twist : twist along the span
Wing : a wing or a specimen as it was read
Model : a built wing
Analysis : a solved wing
Margins : reserve factors, the least first
Margin : the reserve of one part in one mode
SparMotion : movements of one spar along the span
Layout : which bays carry which webs
LayoutResult : what one layout does
Worth : what every web, size and wood is worth
Limits : what the builder asks of a layout
Stock : sheets at hand, a part of `Limits`
Lightest : what the search for the lightest layout found
Candidate : a layout that it looked at
WingFileError : a wing file cannot be used; says every fault
InputFault : a file cannot be found or written
Mechanism : a part of the structure is held by nothing
LightAeroplane : the flying mass is less than the wing's own

>>> import sparbay
>>> wing = sparbay.read("spar-c")
>>> margins = sparbay.check(sparbay.analyse(wing))
>>> print(sparbay.sentence(margins))  # doctest: +ELLIPSIS
Bay ... fails first, at ... times its load: ...
"""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fea.solve import Mechanism
    from models.analysis import Analysis, SparMotion, analyse, spar_motion, tip_deflection, wing_twist
    from models.command.faults import InputFault
    from models.loads.pull_up import LightAeroplane
    from models.strength.margin import Margin, Margins, check, sentence
    from models.structure import Model, build
    from models.studies.compare import LayoutResult, compare
    from models.studies.lightest import Candidate, Lightest, Limits, Stock, lightest
    from models.studies.worth import Worth, worth
    from models.version import VERSION as __version__
    from models.wing.faults import WingFileError
    from models.wing.parts import Layout, Wing
    from models.wing.reading import read_text
    from models.wings import shipped
    from sparbay.wing_files import read, report

__all__ = [
    "Analysis",
    "Candidate",
    "InputFault",
    "Layout",
    "LayoutResult",
    "LightAeroplane",
    "Lightest",
    "Limits",
    "Margin",
    "Margins",
    "Mechanism",
    "Model",
    "SparMotion",
    "Stock",
    "Wing",
    "WingFileError",
    "Worth",
    "__version__",
    "analyse",
    "build",
    "check",
    "compare",
    "lightest",
    "read",
    "read_text",
    "report",
    "sentence",
    "shipped",
    "spar_motion",
    "tip_deflection",
    "wing_twist",
    "worth",
]

_ROOMS = {
    "fea.solve": ("Mechanism",),
    "models.analysis": (
        "Analysis", "SparMotion", "analyse", "spar_motion", "tip_deflection", "wing_twist",
    ),
    "models.command.faults": ("InputFault",),
    "models.loads.pull_up": ("LightAeroplane",),
    "models.strength.margin": ("Margin", "Margins", "check", "sentence"),
    "models.structure": ("Model", "build"),
    "models.studies.compare": ("LayoutResult", "compare"),
    "models.studies.lightest": ("Candidate", "Lightest", "Limits", "Stock", "lightest"),
    "models.studies.worth": ("Worth", "worth"),
    "models.wing.faults": ("WingFileError",),
    "models.wing.parts": ("Layout", "Wing"),
    "models.wing.reading": ("read_text",),
    "models.wings": ("shipped",),
    "sparbay.wing_files": ("read", "report"),
}  # fmt: skip
"""Where each public name lives."""
_ROOM = {name: room for room, names in _ROOMS.items() for name in names}
_STOREYS = ("fea", "models")
"""Those that a script loads; only the command `validate` loads the third."""
_HERE = Path(__file__).resolve().parent


def _home() -> Path:
    """The folder that holds the storeys: beside this package where it is installed; of the checkout, where
    this package lies in `models/front`, the uppermost."""
    for folder in (_HERE.parent, _HERE.parents[2]):
        if all((folder / name / "__init__.py").is_file() for name in _STOREYS):
            return folder
    raise ImportError(f"sparbay: the folders {', '.join(_STOREYS)} that belong to {_HERE} are not beside it.")


def _take(name: str, home: Path) -> None:
    """Load one storey from our own folder, wherever else Python would find a module of that name first.

    Raises
    ------
    ImportError
        Another module of that name is loaded already; says which.
    """
    loaded = sys.modules.get(name)
    if loaded is None:
        spec = PathFinder.find_spec(name, [str(home)])
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
        return
    places = [loaded.__file__] if getattr(loaded, "__file__", None) else getattr(loaded, "__path__", [])
    if not any(place and (home / name) in Path(place).resolve().parents for place in places):
        raise ImportError(
            f"sparbay: the module `{name}` loaded before is {next(iter(places), 'no file')}, not our own "
            f"{home / name}, and two of one name cannot be loaded together: rename that file."
        )


def _take_storeys() -> None:
    home = _home()
    for name in _STOREYS:
        _take(name, home)


_take_storeys()


if not TYPE_CHECKING:  # a type checker is to miss what is not there

    def __getattr__(name: str) -> object:
        if name == "__version__":
            found: object = import_module("models.version").VERSION
        elif name in _ROOM:
            found = getattr(import_module(_ROOM[name]), name)
        else:
            raise AttributeError(f"module 'sparbay' has no attribute '{name}'; it has {', '.join(__all__)}")
        globals()[name] = found
        return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
