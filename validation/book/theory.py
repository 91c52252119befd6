"""What the book says of the mechanics: equations as the code has them, each with its source and the file
that holds it.

Nothing here is new: every source is named, with how far it was read, in the docstrings of the file beside it
(a test looks there).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """A source and the file whose docstrings name it.

    Parameters
    ----------
    words : str
        Author, title, and how far it was read.
    key : str
        A word of it that the file holds.
    file : str
        Below the top folder.
    """

    words: str
    key: str
    file: str


@dataclass(frozen=True)
class Topic:
    """A piece of the theory.

    Parameters
    ----------
    key, name : str
        Its address within the page and its heading.
    body : tuple of str
        Paragraphs; one that begins with "= " is an equation, with markup for what stands high and low.
    sources : tuple of Source
        Where it comes from.
    """

    key: str
    name: str
    body: tuple[str, ...]
    sources: tuple[Source, ...]


TOPICS: tuple[Topic, ...] = (
    Topic(
        "structure",
        "The structure and what a solve must prove",
        (
            "A wing is nodes with six freedoms each, and blocks of elements between them. Each element's "
            "stiffness is a factor (thickness, E A) times a unit matrix, so that the whole is linear in the "
            "sizes. What is asked is the movement u under the loads f:",
            "= K u = f,  K = Σ<sub>e</sub> s<sub>e</sub> K<sub>e</sub>",
            "Where an element does not lie on its nodes, rigid arms r carry it. Its corners move with node and "
            "arm, and its matrix goes over by the congruence, which keeps rigid motions free of force:",
            "= u<sub>corner</sub> = u + θ × r,  K<sub>nodes</sub> = T<sup>T</sup> K<sub>corners</sub> T",
            "Every solution carries its proof: residual, balance of loads and reactions, work against twice the "
            "strain energy, size of the pivots. What can move freely is told by the part that can.",
        ),
        (
            Source("Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 5 and 6 [from memory]",
                   "Przemieniecki", "fea/elements/beam.py"),
        ),
    ),
    Topic(
        "flight",
        "A body that nothing holds",
        (
            "In flight nothing holds the wing. Loads are first balanced by the inertia of its own mass M under "
            "the rigid acceleration that they cause, R being the rigid motions:",
            "= f<sub>0</sub> = f − M R a,  (R<sup>T</sup> M R) a = R<sup>T</sup> f",
            "Then as many freedoms are pinned as there are rigid motions; any set that stops them will do, and "
            "the pins' reactions must vanish. That they do is part of the proof.",
        ),
        (
            Source("free-body statics as the code derives it; no book is cited there", "reactions must vanish",
                   "fea/solve.py"),
        ),
    ),
    Topic(
        "caps",
        "Caps: grained beams that shear",
        (
            "A cap is a beam on its own axis with bending about both axes, shear and torsion. It is built from "
            "the flexibility of its natural deformations, which is exact for loads at its ends and takes the "
            "give of a joint at either end as one more term. With H the equilibrium of the section forces,",
            "= K = H F<sup>−1</sup> H<sup>T</sup>,  φ = 12 E I / (κ G A ℓ<sup>2</sup>)",
            "φ tells how much of the sway is shear; κ = 5/6 of a rectangle. Wood has two shear moduli on a "
            "cap's section. Stretching the height by the root of their ratio turns the torsion of such a "
            "rectangle into that of a plain one, whose constant is a series:",
            "= G J = G<sub>h</sub> J(b, h s)/s,  s = √(G<sub>b</sub>/G<sub>h</sub>),  J(a, c) = a c<sup>3</sup> "
            "[1/3 − (64/π<sup>5</sup>)(c/a) Σ<sub>n odd</sub> tanh(nπa/2c)/n<sup>5</sup>],  a ≥ c",
            "Shear flow is handed to a cap beside its axis, all along. Put on at nodes as couples it would bend "
            "the cap into a saw, so what is glued along a cap follows a share of its chord's turning, "
            "1 − √(φ/(1 + φ)), which makes the give independent of the elements' length.",
        ),
        (
            Source("Przemieniecki, Theory of Matrix Structural Analysis, 1968 [from memory]", "Przemieniecki",
                   "fea/elements/beam.py"),
            Source("Lekhnitskii, Theory of Elasticity of an Anisotropic Body, torsion of an orthotropic bar "
                   "[from memory]", "Lekhnitskii", "models/section.py"),
            Source("Timoshenko and Goodier, Theory of Elasticity, torsion of rectangular bars [from memory]",
                   "Timoshenko and Goodier", "models/section.py"),
            Source("the share of the chord's turning: derived in the code", "1 - s = sqrt(phi/(1 + phi))",
                   "fea/elements/beam.py"),
        ),
    ),
    Topic(
        "webs",
        "Webs: membranes and plates on rigid arms",
        (
            "A web is a sheet over the clear height between the caps. In its plane it is a grained membrane: a "
            "bilinear quadrilateral with two internal parabolas, which does not lock as it bends. Stresses "
            "follow from strains in the wood's own axes, turned to the sheet's:",
            "= {σ<sub>1</sub>, σ<sub>2</sub>, τ} = Q {ε<sub>1</sub>, ε<sub>2</sub>, γ},  Q<sub>11</sub> = "
            "E<sub>1</sub>/(1 − ν<sub>12</sub>ν<sub>21</sub>),  Q<sub>66</sub> = G<sub>12</sub>",
            "Across its height it is a plate besides: what keeps the section of a C or a box in shape between "
            "ribs. One plate of cubic edges over the clear height bends into an S as a beam does.",
            "It hangs on the caps by rigid arms to their inner edges on its own side. One web makes an open "
            "section whose shear centre lies outside, two make a closed one: nothing about a C or a box is "
            "written anywhere, it follows from where the arms end. Where a web laps a cap, its strip adds "
            "stretch (bars) and is part of the cap's section in torsion.",
        ),
        (
            Source("Taylor, Beresford and Wilson, A non-conforming element for stress analysis, 1976 [from "
                   "memory]", "Taylor, Beresford and Wilson", "fea/elements/membrane.py"),
            Source("Batoz and Ben Tahar, Evaluation of a new quadrilateral thin plate bending element, 1982 "
                   "[from memory]", "Batoz", "fea/elements/plate.py"),
            Source("Jones, Mechanics of Composite Materials, ch. 2 [from memory]", "Jones",
                   "fea/elements/membrane.py"),
        ),
    ),
    Topic(
        "lap",
        "What the lapped joint gives",
        (
            "A web's shear flow enters the cap over the height of the lap and not at a line; the lapped strip "
            "shears, and across its grain it shears a good deal. Twist of the cap warps its section, which "
            "moves the web's edge along the span. Both follow from one field ψ of movement along the span over "
            "the section cap + strips + stub of web, which makes the shear energy least:",
            "= G J = min ∫ G<sub>x</sub>(∂ψ/∂x + z)<sup>2</sup> + G<sub>z</sub>(∂ψ/∂z − x)<sup>2</sup> dA",
            "under unit rate of twist, and once more under a unit flow at the strip's edge, balanced by axial "
            "stress in proportion to the moduli. The first gives the torsion of the composite and the warping "
            "(a longer arm of the web); the second the give, by which the panel's shear modulus between span "
            "and height is softened. Polynomials of high order in every rectangle; nothing is fitted. Where a "
            "strip's grain stands askew its stretch and its shear are one, and the section's own movements "
            "join.",
        ),
        (
            Source("Saint-Venant's problems: Timoshenko and Goodier, Theory of Elasticity, ch. 11 and 12 [from "
                   "memory]", "Saint-Venant", "models/junction.py"),
        ),
    ),
    Topic(
        "feet",
        "Rib feet rock and press",
        (
            "A thin rib stands on wood that is soft across its grain. Its foot is a rigid strip of half-length "
            "a that rocks on a grained half-plane (s are compliances, 1 along the surface):",
            "= θ = 4 M/(π a<sup>2</sup> E*),  2/E* = √(s<sub>11</sub>s<sub>22</sub>) "
            "√(2√(s<sub>22</sub>/s<sub>11</sub>) + (2 s<sub>12</sub> + s<sub>66</sub>)/s<sub>11</sub>)",
            "per unit of width. Pressed along the chord against the side of a stick, the rib's end goes into "
            "it: the same strip on a strip of finite depth, summed over waves along it, less what the stick "
            "already does as a beam. Every wave's share is positive, and so is the sum.",
        ),
        (
            Source("a rigid strip on a half-plane, Fourier's waves on a strip: Timoshenko and Goodier; "
                   "Lekhnitskii's compliances [from memory]", "Lekhnitskii", "models/junction.py"),
            Source("Abramowitz and Stegun, Handbook of Mathematical Functions, 9.4.1 and 9.4.3 [from memory]",
                   "Abramowitz", "models/junction.py"),
        ),
    ),
    Topic(
        "ribs",
        "Ribs beside open bays",
        (
            "Where a bay has no web, caps and posts carry its shear as a Vierendeel girder: V h/2 and V a/4 "
            "bend them. A rib is one piece of wood round and between the caps, so beside an open bay a width "
            "of it bends with the post. Its plate obeys",
            "= D<sub>x</sub> v<sub>,xxxx</sub> + 2 H v<sub>,xxzz</sub> + D<sub>z</sub> v<sub>,zzzz</sub> = 0,  "
            "H = (ν E<sub>z</sub> + 2 G<sub>xz</sub>) t<sup>3</sup>/12",
            "and its decaying roots give the width of plain strip that would take the same moment, on each "
            "side, for an edge shape of wave number k:",
            "= b k = √2 M,  M = √(H/D<sub>z</sub> + √(D<sub>x</sub>/D<sub>z</sub>))",
            "The wave number of the S shape, and what shear through the thickness takes away, are fitted to "
            "solids of strips of rib between rigid caps (8 % for balsa along the chord, 18 % for plies). No "
            "figure in it comes from a wing.",
        ),
        (
            Source("Lekhnitskii, Anisotropic Plates; Timoshenko and Woinowsky-Krieger, Theory of Plates and "
                   "Shells [from memory]; solids computed for this project", "Woinowsky-Krieger",
                   "models/rib_width.py"),
        ),
    ),
    Topic(
        "sheeting",
        "Sheeting along its own lines",
        (
            "Sheeting and rib panels are membranes and plates on one net of nodes along the outline. A sheet's "
            "grain follows the sheet: its axes come from the panel's own corners, along its spanwise lines, "
            "and never from the wing's y. In a swept, tapered nose box the difference is large (the first "
            "version, along y, missed the twist of `wing 2` by 34 %). Edge sticks are what sanding leaves of "
            "them within the outline; their torsion is found by Ritz's method on Prandtl's stress function.",
        ),
        (
            Source("off-axis stiffness: Jones, Mechanics of Composite Materials, ch. 2 [from memory]", "Jones",
                   "models/woods/off_axis.py"),
            Source("Prandtl's stress function by Ritz's method: derived in the code", "Prandtl",
                   "models/section.py"),
        ),
    ),
    Topic(
        "strength",
        "How wood fails",
        (
            "Each way of failing is a rule of its own with its source; the cases of the chapter on modes hold "
            "each against a published figure. Stress in two directions goes by Norris' criterion, of which the "
            "product is counted only where it hurts:",
            "= (σ<sub>L</sub>/F<sub>L</sub>)<sup>2</sup> − σ<sub>L</sub>σ<sub>T</sub>/(F<sub>L</sub>F<sub>T</sub>) "
            "+ (σ<sub>T</sub>/F<sub>T</sub>)<sup>2</sup> + (τ/S)<sup>2</sup> = 1",
            "Strength at an angle α to the grain goes by Hankinson's equation; a cap pressed by m and bent to b "
            "by the curve of wood that goes on bearing while it is crushed (F crushing strength, R modulus of "
            "rupture, u = 1 − m/F); a column by the fourth-power rule down to two thirds of its crushing "
            "strength, below it by Euler; a web in shear as a simply supported grained plate:",
            "= F<sub>α</sub> = P Q/(P sin<sup>n</sup>α + Q cos<sup>n</sup>α);  b = 3 F u(1 − u) + R u<sup>2</sup>;  "
            "P = P<sub>c</sub>[1 − (1/3)(2P<sub>c</sub>/3P<sub>E</sub>)<sup>2</sup>];  "
            "τ = 4 c (D<sub>1</sub>D<sub>2</sub><sup>3</sup>)<sup>1/4</sup>/(t b<sup>2</sup>)",
        ),
        (
            Source("Norris, FPL report 1816, 1950 [from memory]", "Norris", "models/strength/norris.py"),
            Source("Hankinson's equation [encyclopedia article, looked up]", "Hankinson",
                   "models/woods/off_axis.py"),
            Source("curve of bending and compression: Bechtel and Norris, FPL report 1910, 1952 [from memory], "
                   "and derived in the code", "Bechtel", "models/strength/cap_compression.py"),
            Source("Wood Handbook, 1999, chapter 8: fourth-power rule [from memory]", "Wood Handbook",
                   "models/strength/cap_column.py"),
            Source("Seydel 1933, shear buckling of orthotropic plates [from memory]", "Seydel",
                   "models/strength/web_buckling.py"),
        ),
    ),
    Topic(
        "buckling",
        "Buckling and vibration of the whole",
        (
            "The stress of a solved case gives every element a stiffness against turning, K<sub>G</sub>. The "
            "loads grow by λ until the structure has another shape to go to; natural modes are sought on the "
            "same matrices, free of the rigid motions where it flies:",
            "= (K + λ K<sub>G</sub>) x = 0,  K x = ω<sup>2</sup> M x",
        ),
        (
            Source("beams: Timoshenko and Gere, Theory of Elastic Stability, 1961, ch. 6 [from memory]",
                   "Timoshenko and Gere", "fea/elements/beam.py"),
            Source("Bathe, Finite Element Procedures [from memory]", "Bathe", "fea/vibration.py"),
        ),
    ),
    Topic(
        "bowing",
        "Sheeting that bows",
        (
            "Sheeting pressed beyond its buckling stress keeps bearing along its edges, over the effective "
            "width of von Karman, and hands the rest to caps and edges. What the panels shed goes back on as a "
            "load on the whole structure, until it no longer changes:",
            "= b<sub>eff</sub> = b √(σ<sub>cr</sub>/σ),  K u = f + Σ (1 − left) K<sub>panel</sub> u",
            "One elimination serves every case and load. A covering film that goes slack is settled alike: it "
            "pulls along its folds alone, and what the taut film carried too much is put back on.",
        ),
        (
            Source("von Karman, Sechler and Donnell, The strength of thin plates in compression, 1932 [from "
                   "memory]", "Karman", "models/studies/bowed.py"),
            Source("Anderson, Iterative procedures for nonlinear integral equations, 1965 [from memory]",
                   "Anderson", "models/studies/bowed.py"),
            Source("initial stress method: Zienkiewicz, Valliappan and King 1969 [from memory]", "Zienkiewicz",
                   "models/covering.py"),
            Source("Reissner 1938, Pipkin 1986 [from memory]; Wagner 1929 [names looked up]: tension fields",
                   "Wagner", "fea/elements/tension_field.py"),
        ),
    ),
    Topic(
        "scatter",
        "Scatter, and one wing in twenty",
        (
            "Wood scatters. Every strength is a draw of its own that hangs together with the others of its "
            "piece (correlation w = 0.6, common practice without a source) and with the piece's stiffness "
            "(r = 0.5):",
            "= ln f = σ[r z<sub>E</sub> + √(w − r<sup>2</sup>) z<sub>S</sub> + √(1 − w) z] − σ<sup>2</sup>/2",
            "A wing is fit where, of the wings built from its file, the share that the file asks for (19 of 20 "
            "if nothing is said) survives every case asked. The load of a part follows the pieces' stiffness "
            "by slopes from one factorisation, K du = −K<sub>piece</sub> u. Given the pieces, parts are "
            "independent, so that the chance of a half wing is found without drawing them:",
            "= P = 1 − Π(1 − Φ)",
            "averaged over the pieces by importance sampling. Limits of a share are those of Clopper and "
            "Pearson.",
        ),
        (
            Source("Wood Handbook, on grading: stiffness and strength of one piece [from memory]",
                   "Wood Handbook", "models/studies/scatter/draws.py"),
            Source("direct differentiation: Haftka and Guerdal, Elements of Structural Optimization, ch. 7 "
                   "[from memory]", "Haftka", "models/studies/scatter/quick.py"),
            Source("Melchers, Structural Reliability Analysis and Prediction, ch. 3 [from memory]", "Melchers",
                   "models/studies/scatter/rare.py"),
            Source("Clopper and Pearson, Biometrika 26, 1934 [from memory]", "Clopper",
                   "models/studies/scatter/interval.py"),
        ),
    ),
    Topic(
        "lift",
        "Lift along the span",
        (
            "Schrenk: half way between the planform's own shape and an ellipse. Or a vortex lattice of the "
            "planform, each panel's vortex at a quarter of its chord and its point of no flow at three "
            "quarters:",
            "= c c<sub>l</sub>/(c̄ C<sub>L</sub>) = ½[c/c̄ + (4/π)√(1 − η<sup>2</sup>)]",
            "Manoeuvres and gusts by the rules of small aeroplanes; a wing in flight is trimmed by its elevons "
            "or its tail.",
        ),
        (
            Source("Schrenk, NACA TM 948, 1940 [assumption looked up in its opening]", "Schrenk",
                   "models/loads/schrenk.py"),
            Source("Falkner 1943, ARC R&M 1910; Bertin and Smith, Aerodynamics for Engineers [from memory]",
                   "Falkner", "models/loads/lifting_surface.py"),
            Source("14 CFR 23.341(c) as it stood before 2017 [from memory]", "23.341",
                   "models/loads/envelope.py"),
        ),
    ),
    Topic(
        "flutter",
        "Divergence, reversal and flutter",
        (
            "The air's force on movements q (dashes for time), with a downwash W a strip and C the lag of its "
            "circulation behind it, Theodorsen's function or a sum of two lags:",
            "= Q = ρ[−m q″ + V c q′ + V<sup>2</sup> k q + V p C(W)],  W = V a q + r q′",
            "= lift = π b<sup>2</sup>(−w″ + V θ′ − b a θ″) + 2π V b C W,  W = V θ − w′ + b(½ − a) θ′",
            "The whole structure is condensed on its static answers to unit lift and moment at every rib, and "
            "on its rigid motions, so that every static answer to the air is exact. With the lags as states "
            "flutter is a plain eigenproblem by speed; it ends on Theodorsen's own function. A lattice with a "
            "flat wake gives the onset with the tips' effect. A tail is not in the model.",
        ),
        (
            Source("Theodorsen, NACA TR 496, 1935 [from memory]", "Theodorsen", "fea/aeroelastic.py"),
            Source("R. T. Jones, NACA TR 681, 1940: the two lags [looked up]", "R. T. Jones",
                   "fea/aeroelastic.py"),
            Source("Bisplinghoff, Ashley, Halfman, Aeroelasticity, 1955 [from memory]", "Bisplinghoff",
                   "fea/aeroelastic.py"),
            Source("Katz and Plotkin, Low-Speed Aerodynamics [from memory]; Hough, Journal of Aircraft 10, 1973 "
                   "[from memory]", "Katz", "models/loads/unsteady_lattice.py"),
        ),
    ),
    Topic(
        "mesh",
        "How far the mesh is at fault",
        (
            "`check` solves every wing once more on a mesh half as fine and tells what that changed. Beams are "
            "exact between loads, so bare frames do not depend on the mesh; what does are membranes along the "
            "chord and where shear flow is handed over.",
        ),
        (
            Source("Richardson's comparison of two meshes: Roache, 1994 [from memory]", "Roache",
                   "models/studies/mesh_error.py"),
        ),
    ),
)
