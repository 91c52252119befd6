"""How many bays of a spar are worth webbing? Two spars, webbed further and further out: a table and a plot.

Run it in any folder: `python parametric_study.py`; it writes `webs.png` there.
"""

from matplotlib.figure import Figure

import sparbay

SPAR = """
[specimen]
length = "600 mm"
depth = "25 mm"
[ribs]
pitch = "60 mm"
thickness = "2 mm"
[[spars]]
name = "spar"
caps = {{ width = "{width} mm", height = "4 mm", wood = "spruce" }}
{webs}
[case]
tip_force = "10 N"
tip_torque = "10 N mm"
"""
WEBS = """
[[spars.webs]]
bays = "1-{last}"
face = "{face}"
thickness = "1.5 mm"
"""
WIDTHS = (6, 10)
N_BAYS = 10


def spar(width: int, last: int) -> sparbay.Wing:
    """A spar with caps of a width in mm, and webs on both faces out to a bay."""
    webs = "".join(WEBS.format(last=last, face=face) for face in ("front", "rear")) if last else ""
    return sparbay.read_text(SPAR.format(width=width, webs=webs))


def main() -> None:
    """Work out every spar, print a line each, and plot them."""
    plot = Figure(figsize=(8, 4), layout="constrained")
    stiff, strong = plot.subplots(1, 2)
    print("cap mm  bays  tip mm  fails at N  first")
    for width in WIDTHS:
        tips, loads = [], []
        for last in range(0, N_BAYS + 1, 2):
            analysis = sparbay.analyse(spar(width, last), per_bay=2)
            margins = sparbay.check(analysis)
            by_force = sparbay.spar_motion(analysis, 0, case=0)  # the force alone; case 1 is the torque alone
            tips.append(1e3 * by_force.deflection[-1])
            loads.append(10 * margins.load_factor_at_first_failure())
            first = f"{margins.first().part.name}: {margins.first().mode}"
            print(f"{width:6d}  {last:4d}  {tips[-1]:6.1f}  {loads[-1]:10.0f}  {first}")
        stiff.plot(range(0, N_BAYS + 1, 2), tips, "o-", label=f"caps {width} mm wide")
        strong.plot(range(0, N_BAYS + 1, 2), loads, "o-")
    stiff.set(xlabel="bays with webs, from the root", ylabel="tip deflection under 10 N, mm", ylim=(0, None))
    strong.set(xlabel="bays with webs, from the root", ylabel="tip force at first failure, N")
    stiff.legend()
    plot.savefig("webs.png")


if __name__ == "__main__":
    main()
