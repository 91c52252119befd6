"""One wing on one mesh, built, assembled and eliminated once for all that ask about it in one answer.

A session is made by whoever answers, and passed to the studies that the answer is put together from; nothing
is kept beyond it. What is not asked for is not worked out.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from fea.assembly import Assembly
from fea.buckling import held_at
from fea.solve import Factor, factorise, pinned
from models.analysis import Analysis, solve
from models.loads.cases import Situation
from models.strength import Margins, check
from models.strength.counted import with_joints
from models.strength.solved import Build
from models.structure import ACROSS_CHORD, Model, build
from models.wing.parts import Wing


class Frame:
    """A wing's structure, and what was made of it.

    Parameters
    ----------
    model : Model
        From `models.structure.build`.
    assembly : Assembly or None
        Of its structure, where it is there already.
    sound : Analysis or None
        In the case of its file, where it is there already.
    like : Frame or None
        One of the same stiffness.
    """

    def __init__(
        self,
        model: Model,
        assembly: Assembly | None = None,
        *,
        sound: Analysis | None = None,
        like: Frame | None = None,
    ) -> None:
        self.model = model
        self.assembly = Assembly(model.structure) if assembly is None else assembly
        self._sound, self._like = sound, like

    @cached_property
    def build(self) -> Build:
        """What modes of failure know of it."""
        return Build()

    @cached_property
    def factor(self) -> Factor:
        """Eliminated as it flies."""
        if self._sound is not None and self._sound.solution.factor is not None:
            return self._sound.solution.factor
        if self._like is not None and self._like.factor.fits(self.assembly):
            return replace(self._like.factor, assembly=self.assembly)
        return pinned(self.assembly)

    @cached_property
    def held(self) -> Factor:
        """Eliminated as it is held at the caps of its centre, or by its clamp."""
        if self._like is not None and self._like.held.fits(self.assembly):
            return replace(self._like.held, assembly=self.assembly)
        model, supports = self.model, self.model.structure.supports
        if model.wing.flies:
            supports = held_at(self.assembly, model.centre_caps)
        return factorise(self.assembly, supports)

    @cached_property
    def sound(self) -> Analysis:
        """In the case of its file, all sheeting whole."""
        return self.flown(self.model.wing) if self._sound is None else self._sound

    @cached_property
    def margins(self) -> Margins:
        """Of that case, joints left out."""
        return check(self.sound, build=self.build)

    @cached_property
    def told(self) -> Margins:
        """The same with joiners, fastenings and braces of cut caps: what tables and first failures tell."""
        return with_joints(self.model.wing, self.margins)

    @cached_property
    def situation(self) -> Situation:
        """Of a flying wing, both sides: what every load case starts from."""
        return Situation.of(self.model, self.assembly)

    def flown(self, wing: Wing) -> Analysis:
        """The same wing in another case, all sheeting whole."""
        model = self.model if wing is self.model.wing else replace(self.model, wing=wing)
        if wing.clamped:
            return solve(model, assembly=self.assembly)
        return solve(model, factor=self.factor, keep_factor=True)


class Session:
    """A wing on one mesh.

    Parameters
    ----------
    wing : Wing
        As read.
    per_bay, across_chord, rigid_joints
        As for `models.structure.build`.
    sound : Analysis or None
        Of the wing on that mesh in the case of its file, where it is there already.
    """

    def __init__(
        self,
        wing: Wing,
        *,
        per_bay: int = 4,
        across_chord: int = ACROSS_CHORD,
        rigid_joints: bool = False,
        sound: Analysis | None = None,
    ) -> None:
        self.wing = wing
        self.per_bay, self.across_chord, self.rigid_joints = per_bay, across_chord, rigid_joints
        self._sound = sound

    def _build(self, wing: Wing, *, whole: bool | None = None, covered: bool = False) -> Model:
        return build(
            wing,
            per_bay=self.per_bay,
            across_chord=self.across_chord,
            rigid_joints=self.rigid_joints,
            whole=whole,
            covered=covered,
        )

    @cached_property
    def side(self) -> Frame:
        """As the check has it: of a wing whose sides are alike one of them."""
        if self._sound is None:
            return Frame(self._build(self.wing))
        return Frame(self._sound.model, self._sound.solution.assembly, sound=self._sound)

    @cached_property
    def covered(self) -> Model:
        """Both sides of a flying wing, with what covers them."""
        return self._build(self.wing, whole=True, covered=True)

    @cached_property
    def both(self) -> Frame:
        """Both sides of a flying wing."""
        return self.side if self.wing.whole else Frame(self._build(self.wing, whole=True))

    def carrying(self, wing: Wing) -> Frame:
        """The side of the same wing with other masses on it: its stiffness is eliminated already. The wing is
        the session's, but for its masses, and how much flies."""
        if [m.mass for m in wing.masses] != [m.mass for m in self.wing.masses]:
            return Frame(self._build(wing), like=self.side)
        if wing.case.flying_mass == self.wing.case.flying_mass:
            return self.side
        return Frame(replace(self.side.model, wing=wing), self.side.assembly, like=self.side)
