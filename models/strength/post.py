"""A rib post pressed or torn between the caps of a spar, and broken in bending next to an open bay.

The post is as wide as the caps and as thick as the rib; off the grain its strength follows Hankinson.
Next to an open bay the post's bending in the spar's plane carries the bay's shear from cap to cap
(Vierendeel) and counts. The crushing of the bent spar presses on it besides and grows with the square of
the load: over half of each open bay beside it, and in webbed bays over as much of the cap as a beam on
the elastic web hands to a rigid support. Between webs that bending only follows the caps' movement and is
left out; bending fore and aft belongs to the rib's panel, of which the post is a strip, and is left out
everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.analysis import Analysis
from models.strength.cap_column import column_force
from models.strength.finding import Finding, growing, reserve_of
from models.strength.mode import Layouts, Many, Mode, Remains, Rule, pressed
from models.strength.solved import Solved
from models.strength.web_edges import cap_strains
from models.woods.off_axis import hankinson


def unit(
    thickness: Array,
    width: Array,
    length: Array,
    modulus: Array,
    tension: Array,
    crushing: Array,
    rupture: Array,
) -> tuple[Array, Array, Array]:
    """Share of the strength used by 1 N of pull and of pressure, and by 1 N m of bending.

    Parameters
    ----------
    thickness, width, length : (n,) float array
        Along the span, fore and aft, and clear between the caps, m.
    modulus, tension, crushing, rupture : (n,) float array
        Along the post's axis, Pa.

    Returns
    -------
    tear, crush, bend : (n,) float array
        1/(F_t A) and 1/P_column, 1/N; 1/(Z F_b), 1/(N m).

    References
    ----------
    Wood Handbook, 1999, chapter 8 (from memory).
    """
    area = width * thickness
    least = np.minimum(width, thickness)
    column = column_force(crushing * area, np.pi**2 * modulus * area * least**2 / 12 / length**2)
    return 1 / (tension * area), 1 / column, 6 / (area * thickness * rupture)


def shares(axial: Array, moment: Array, pressed: Array, tear: Array, crush: Array, bend: Array) -> Array:
    """Share of the strength used with the crushing of the bent spar.

    Parameters
    ----------
    axial, moment, pressed : (...) float array
        Axial force (N, tension positive), moment in the spar's plane (N m), and pressing by the spar's
        curvature (N), which grows with the square of the load.
    tear, crush, bend : (...) float array
        Share used by 1 N of pull and of pressure, and by 1 N m.

    Returns
    -------
    (...) float array
        A pull in the post relieves the crushing; it is not counted on.
    """
    bent = np.abs(moment) * bend
    plain = np.where(axial > 0, axial * tear, -axial * crush) + bent
    beside = np.maximum(-axial, 0.0) * crush + bent
    return np.maximum(plain, growing(beside, pressed * crush))


@dataclass(frozen=True, eq=False)
class Bearing:
    """What all posts bear: `unit` three (n,) arrays, see `shares`, and which are `stiff` upright."""

    unit: tuple[Array, Array, Array]
    stiff: NDArray[np.bool_]


def bearing(at: Solved) -> Bearing:
    """Of all rib posts."""
    model = at.model
    posts = model.posts
    ribs = {round(r.y, 9): r.post_grain for r in model.wing.ribs}
    off = np.pi / 2 - np.array([ribs.get(round(abs(float(y)), 9), np.pi / 2) for y in model.y[posts.station]])
    woods = posts.materials
    figure = {
        name: np.array([getattr(w, name) for w in woods])
        for name in ("tension", "compression", "bending", "tension_across", "compression_across", "E_L")
    }
    tension = hankinson(figure["tension"], figure["tension_across"], off, 1.5)
    crushing = hankinson(figure["compression"], figure["compression_across"], off)
    rupture = hankinson(figure["bending"], figure["tension_across"], off, 1.5)
    modulus = hankinson(figure["E_L"], np.array([w.in_plane().E_2 for w in woods]), off)
    size = posts.thickness, posts.width, posts.length
    stiff = (np.abs(np.sin(off)) < np.sqrt(0.5)) | np.array([w.kind == "ply" for w in woods])
    return Bearing(unit(*size, modulus, tension, crushing, rupture), stiff)


def constants(at: Solved) -> dict[str, Array]:
    """Of the posts that the spar needs."""
    found = at.of_build(bearing)
    return dict(zip(("tear", "crush", "bend"), (v[found.stiff] for v in found.unit)))


def many(of: Layouts) -> Array:
    """The same of the posts that the spar needs, in many layouts."""
    table = of.table["posts"]
    return shares(*of.posts(), *(table[name][:, None] for name in ("tear", "crush", "bend")))


def findings(at: Solved) -> list[Finding]:
    """All rib posts.

    Those that stand upright in their grain, or are of plywood, the spar needs. The rest, ribs with their
    grain along the chord, are so soft upright that an open bay hardly uses them and survives their cracking.
    """
    analysis, model = at.analysis, at.model
    posts = model.posts
    y = model.y[posts.station]
    # A rib on the plane of symmetry counts by half in a half model.
    share = np.where(model.half & (np.abs(y) < 1e-9), 0.5, 1.0)
    forces = analysis.recovered["posts"]["forces"] / share[:, None, None]
    axial = forces[:, :, 0].mean(axis=1)
    # The rib beside the post takes its share of the moment.
    moment = np.where(at.of_build(_next_to_open), np.abs(forces[:, :, 4]).max(axis=1) / posts.with_rib, 0.0)
    crushed, found = crushing_on_posts(at), at.of_build(bearing)
    reserve = reserve_of(shares(axial, moment, crushed, *found.unit))
    there, stiff = np.isfinite(reserve), found.stiff
    area = posts.width * posts.thickness
    fibre = (np.abs(axial) + crushed + 6 * moment / posts.thickness) / area
    return [
        MODE.found(there & stiff, reserve, fibre, y),
        MODE.found(there & ~stiff, reserve, fibre, y, spared=True),
    ]


def crushing_on_posts(at: Solved) -> Array:
    """Force by which the curvature of the bent spar presses each post at the load of the case, (n,), N."""
    analysis, model, caps = at.analysis, at.model, at.caps
    posts, bars, webs = model.posts, model.caps, model.webs
    n_spars, n_spans = len(model.wing.spars), len(model.y) - 1
    stretch = cap_strains(analysis, caps)[0].mean(axis=1)
    table = np.zeros((n_spars, 2, n_spans, 2))
    row = (bars.spar, np.where(bars.upper, 0, 1), bars.span)
    table[(*row, 0)], table[(*row, 1)] = stretch, caps.axial_force
    depth = (model.depth[:, 1:] + model.depth[:, :-1]) / 2
    strain, force = np.moveaxis(table, 3, 0)
    with np.errstate(invalid="ignore"):
        pressure = np.nan_to_num((strain[:, 1] - strain[:, 0]) / depth * (force[:, 1] - force[:, 0]) / 2)
    pressure = np.maximum(pressure, 0.0)
    if at.has("webs"):
        pressure[webs.spar, webs.span] = at.edges.pressure
    taken = at.of_build(reach)
    out = np.zeros(len(posts.station))
    for span, there in at.of_build(_beside):
        out += np.where(there, pressure[posts.spar, span] * taken[posts.spar, span], 0.0)
    # On the plane of symmetry the mirrored bay presses as much.
    return np.asarray(np.where(model.half & (np.abs(model.y[posts.station]) < 1e-9), 2 * out, out))


def _beside(at: Solved) -> list[tuple[Ints, NDArray[np.bool_]]]:
    """Span of the spar inboard and outboard of each post in turn, and whether its caps are there; (n,)."""
    model, posts = at.model, at.model.posts
    n_spans = len(model.y) - 1
    out = []
    for span in (posts.station - 1, posts.station):
        i = np.clip(span, 0, n_spans - 1)
        upper = model.cap_nodes[posts.spar, 0]
        row = np.arange(len(i))
        there = np.minimum(upper[row, i], upper[row, i + 1]) >= 0
        out.append((i, there & (span >= 0) & (span < n_spans)))
    return out


def reach(at: Solved) -> Array:
    """Length of a spar whose pressure a post takes at either end of a span, (n_spars, n_spans), m: half the
    bay at most.

    A rigid support takes 2/lambda of the load on a long beam on a foundation, lambda^4 = k/(4 E I); both caps
    approach, so that each sees twice the web's rate.
    """
    bars, webs = at.model.caps, at.model.webs
    stiff = np.full((len(at.model.wing.spars), len(at.model.y) - 1), np.inf)
    own = (bars.layer_modulus * bars.layer_heights**3).sum(axis=1) * bars.width / 12
    np.minimum.at(stiff, (bars.spar, bars.span), own)
    rate = np.zeros(stiff.shape)
    if at.has("webs"):
        rate[webs.spar, webs.span] = at.edges.stiffness
    with np.errstate(divide="ignore", over="ignore"):
        far = np.where(rate > 0, (2 * np.maximum(stiff, 1e-30) / np.maximum(rate, 1e-300)) ** 0.25, np.inf)
    return np.minimum(far, _bay_lengths(at.analysis) / 2)


def _bay_lengths(analysis: Analysis) -> Array:
    """Length of the bay of every span, m."""
    model = analysis.model
    _, run = np.unique(model.bay * 2 + (model.y[1:] + model.y[:-1] > 0), return_inverse=True)
    return np.asarray(np.bincount(run, np.diff(model.y))[run])


def _next_to_open(at: Solved) -> NDArray[np.bool_]:
    """Which posts have a span without a web beside them."""
    model = at.model
    webbed = set(zip(model.webs.spar.tolist(), model.webs.span.tolist()))
    return np.array(
        [
            any(
                (s, i) not in webbed
                for i in (j - 1, j)
                if 0 <= i < len(model.bay) and model.cap_nodes[s, 0, [i, i + 1]].min() >= 0
            )
            for s, j in zip(model.posts.spar.tolist(), model.posts.station.tolist())
        ],
        dtype=bool,
    )


MODE = Mode(
    name="rib post",
    words="breaks",
    source=(
        "P/P_column + M/(Z F_b) = 1: fourth-power column rule, Wood Handbook 1999, chapter 8 [from memory]; "
        "Hankinson off the grain [looked up]; crushing M^2/(E I h) [computed], share of a post beside webs: "
        "Hetenyi, "
        "Beams on Elastic Foundation, 1946 [from memory]"
    ),
    block="posts",
    find=findings,
    ends_flight=True,
    reason=(
        "ribs with their grain along the chord are so soft upright that the spar hardly uses them as posts, "
        "and goes on when they crack"
    ),
    joins=(),
    scatter=Rule("compression", size=1),
    proof=pressed,
    remains=Remains(0.0, 0.0, "nothing", "a broken post neither holds the caps apart nor turns them"),
    many=Many(family="posts", constants=constants, used=many),
)
