"""A wing made in code, written as a file that every command of `sparbay` takes, and checked.

Run it in any folder: `python wing_in_code.py`; it writes `tapered.toml` there.
"""

from pathlib import Path

import tomlkit

import sparbay


def tapered(semispan: float, root: float, tip: float, n_ribs: int) -> dict[str, object]:
    """A tapered wing as tables of a wing file; its caps are thinned towards the tip, its webs end half way.

    Parameters
    ----------
    semispan, root, tip : float
        Half the span and the chords, mm.
    n_ribs : int
        On one side.
    """

    def mm(value: float) -> str:
        return f"{value:.2f} mm"

    bays = n_ribs - 1
    return {
        "name": f"Tapered wing of {2e-3 * semispan:.1f} m",
        "planform": {
            "stations": [
                {"y": mm(0), "chord": mm(root), "section": "NACA 2412"},
                {"y": mm(semispan), "chord": mm(tip), "dihedral": "2 deg"},
            ]
        },
        "ribs": {"count": n_ribs, "thickness": "2 mm"},
        "spars": [
            {
                "name": "main",
                "at": "30 %",
                "caps": {"width": "8 mm", "height": ["5 mm", "3 mm"], "wood": "spruce"},
                "webs": [{"bays": f"1-{bays // 2}", "face": "rear", "thickness": "1.5 mm"}],
            }
        ],
        "leading_edge": {"width": "8 mm", "height": "8 mm"},
        "trailing_edge": {"width": mm(0.1 * tip), "height": "4 mm"},
        "case": {"load_factor": 6, "mass": "1.3 kg"},
    }


def main() -> None:
    """Write the wing, read it back as the command would, and say what fails first."""
    path = Path("tapered.toml")
    path.write_text(tomlkit.dumps(tapered(750, 240, 160, 12)), encoding="utf-8")
    analysis = sparbay.analyse(sparbay.read(path), per_bay=2)
    print(analysis.wing.name)
    print(sparbay.sentence(sparbay.check(analysis)))
    print(f"tip up {1e3 * sparbay.tip_deflection(analysis):.1f} mm")


if __name__ == "__main__":
    main()
