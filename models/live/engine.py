"""Answers for states of the page: exact at once where the wing is kept in memory, else by building it anew.

Where both sides of a wing are alike its webs are exchanged in memory (`models.studies.lightest.what_if`): a
choice, a wood, a thickness or a grain is another web of its cell, and the segments of the wing that hold it
are built when they are first asked for, those of the next clicks ahead of time. Other wings are built and
solved whole for every answer.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis, analyse, from_centre, spar_motion, wing_twist
from models.build.model import Part
from models.live.cells import Change, Make, State, own_state
from models.live.opened import Opened
from models.loads.pull_up import LightAeroplane
from models.strength import check, sentence
from models.studies.compare import web_mass
from models.studies.lightest.places import Cell as Choices
from models.studies.lightest.places import Faces, Places
from models.studies.lightest.segments import Segments, Untabulated
from models.studies.lightest.what_if import WhatIf
from models.wing.faults import WingFileError
from models.wing.parts import Web, Wing

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

_MOST_KEPT = 1500
"""Segments in memory, about a megabyte each; beyond, only those of the next clicks are kept."""
_QUIET = 0.3
"""Seconds without a question before work ahead of time goes on."""


@dataclass(frozen=True)
class Least:
    """The least reserve factor of a part, the mode that it is in, at the load asked about."""

    part: Part
    mode: str
    reserve_factor: float


@dataclass(frozen=True, eq=False)
class Answer:
    """What the page shows of a state.

    Parameters
    ----------
    sentence : str
        Which part fails first, at what load, and how.
    load_factor : float
        Asked about; a specimen counts in multiples of its load.
    load_factor_at_first_failure : float
        inf where nothing can fail.
    least : tuple of Least
        Of every part that is ranked, the least reserve first.
    web_mass : float
        Webs with their strips, both sides of a flying wing, kg.
    tip_deflection, tip_twist : float
        At the load asked about, m and rad (nose up).
    moves, points : (n_nodes, 6) and (n_nodes, 3) float array
        Movements seen from the centre section, m and rad, at the load asked about, and the nodes' places, m.
    whole : bool
        By building and solving the wing whole.
    seconds : float
        That the answer took.
    """

    sentence: str
    load_factor: float
    load_factor_at_first_failure: float
    least: tuple[Least, ...]
    web_mass: float
    tip_deflection: float
    tip_twist: float
    moves: Array
    points: Array
    whole: bool
    seconds: float

    @property
    def reserve_factor(self) -> float:
        """Of what fails first."""
        return self.load_factor_at_first_failure / self.load_factor

    def bays(self) -> dict[tuple[str, str, int], Least]:
        """The worst of every bay of every spar and side."""
        found: dict[tuple[str, str, int], Least] = {}
        for one in self.least:
            part = one.part
            if part.bay is not None and part.spar:
                found.setdefault((part.side, part.spar, part.bay), one)
        return found


class _Glued(str):
    """A face, with the web that is glued on it."""

    web: Web

    def __new__(cls, web: Web) -> _Glued:
        self = super().__new__(cls, web.face)
        self.web = web
        return self


@dataclass(frozen=True, eq=False)
class _Shelf(Places):
    """Places whose choices are whole webs, of which there may come more."""

    def laid(self, codes: Ints) -> Wing:
        spars = []
        for spar in self.wing.spars:
            webs = [
                replace(face.web, side=side)
                for cell, faces in zip(self.cells, self.faces(codes))
                for face in faces
                for side in self.sides()
                if cell.spar == spar.name and isinstance(face, _Glued)
            ]
            ordered = sorted(webs, key=lambda web: (web.bay, web.side, web.face))
            spars.append(replace(spar, webs=tuple(ordered)))
        return replace(self.wing, spars=tuple(spars))

    def web(self, cell: int, face: str) -> Web:
        assert isinstance(face, _Glued)
        return face.web

    def codes(self, faces: dict[tuple[str, int], Faces]) -> Ints:
        """The layout with other choices, each one of its cell's own."""
        out = self.own
        for k, cell in enumerate(self.cells):
            wanted = faces.get((cell.spar, cell.bay))
            if wanted is not None:
                out[k] = next(i for i, choice in enumerate(cell.choices) if choice is wanted)
        return out


class _Kept(WhatIf):
    """A wing in memory whose cells may be given further choices."""

    def __init__(self, shelf: _Shelf, per_bay: int) -> None:
        self.places, self.per_bay, self.tabulated = shelf, per_bay, True
        self.segments = Segments(shelf, per_bay=per_bay, keep_inside=True)

    def take(self, shelf: _Shelf) -> None:
        """Go on with more choices; those that there were keep their numbers."""
        self.places = shelf
        self.segments.places = shelf
        self.segments._laps = self.segments._cell_laps()


@dataclass
class _Ahead:
    """Work ahead of time: how much there is, how much is done."""

    wanted: int = 0
    left: int = 0
    changed: threading.Event = field(default_factory=threading.Event)


class _Moved(Exception):
    """The page has gone on to another state while the one before was being made ready."""


class Engine:
    """Answers for one opened wing file.

    Parameters
    ----------
    opened : Opened
        The file.
    per_bay : int
        Elements along a bay.
    """

    def __init__(self, opened: Opened, *, per_bay: int = 4) -> None:
        self.opened, self.per_bay = opened, per_bay
        self.case = opened.wing.case.load_factor if opened.wing.root != "clamped" else 1.0
        self._webs: dict[tuple[int, str, Make], Web] = {}
        self._numbers: list[dict[tuple[_Key, ...], int]] = [{} for _ in opened.cells]
        self._building = threading.Lock()
        self._using = threading.Lock()
        self._waiting: deque[None] = deque()
        self._asked = time.monotonic()
        self._ahead = _Ahead()
        self._current: State = own_state(opened.cells)
        self._near = 0
        self._stop = False
        self.why_whole = ""
        self._kept: _Kept | None = None
        wing = opened.wing
        if wing.whole:
            self.why_whole = "its two sides are modelled apart"
        elif opened.follows_webs:
            self.why_whole = "its sheeting ends at the webs' faces and moves with them"
        else:
            try:
                self._kept = self._start()
            except Untabulated as error:
                self.why_whole = str(error).split(": ", 1)[-1]

    # ---- webs and choices -----------------------------------------------------------------------------

    def _start(self) -> _Kept:
        cells = []
        for k, cell in enumerate(self.opened.cells):
            choices = []
            for i, faces in enumerate(cell.choices):
                key = tuple((face, cell.makes[face]) for face in faces)
                self._numbers[k][key] = i
                choices.append(tuple(_Glued(self._web(k, face, cell.makes[face])) for face in faces))
            cells.append(Choices(cell.spar, cell.bay, tuple(choices), cell.own))
        return _Kept(_Shelf(self.opened.wing, tuple(cells)), self.per_bay)

    def _web(self, k: int, face: str, make: Make) -> Web:
        """The web as a file with it would be read."""
        found = self._webs.get((k, face, make))
        if found is None:
            cell = self.opened.cells[k]
            own = own_state(self.opened.cells)
            choice = next(i for i, faces in enumerate(cell.choices) if face in faces)
            change = Change(make.thickness, make.wood, make.grain)
            state = State(_with(own.choices, k, choice), _with(own.changes, k, change))
            same = [
                w
                for (_, f, m), w in list(self._webs.items())
                if m == make and (f == "between") == (face == "between")
            ]
            if same:  # of one thickness, wood, grain and glue: only the place differs
                found = replace(same[0], bay=cell.bay, face=face)
            else:
                wing = self.opened.wing_of(state)
                spar = next(s for s in wing.spars if s.name == cell.spar)
                found = next(
                    w for w in spar.webs if (w.side, w.bay, w.face) == (cell.sides[0], cell.bay, face)
                )
            self._webs[k, face, make] = found
        return found

    def with_every_web(self) -> Wing:
        """The wing with every web that any choice may put in, to draw it."""
        spars = []
        for spar in self.opened.wing.spars:
            webs = []
            for k, cell in enumerate(self.opened.cells):
                for face in sorted({face for faces in cell.choices for face in faces}):
                    if cell.spar == spar.name:
                        web = self._web(k, face, cell.makes[face])
                        webs += [replace(web, side=side) for side in cell.sides]
            spars.append(replace(spar, webs=tuple(sorted(webs, key=lambda w: (w.bay, w.side, w.face)))))
        return replace(self.opened.wing, spars=tuple(spars))

    def _codes(self, state: State) -> Ints:
        """Numbers of a state's choices; choices that are new are put on the shelf."""
        assert self._kept is not None
        codes = np.zeros(len(self.opened.cells), dtype=np.intp)
        grown: list[Choices] | None = None
        fresh: list[tuple[int, tuple[_Key, ...]]] = []
        for k, cell in enumerate(self.opened.cells):
            key = tuple(
                (face, state.changes[k].of(cell.makes[face])) for face in cell.choices[state.choices[k]]
            )
            if key not in self._numbers[k]:
                grown = list(self._kept.places.cells) if grown is None else grown
                at = grown[k]
                new = tuple(_Glued(self._web(k, face, make)) for face, make in key)
                grown[k] = replace(at, choices=(*at.choices, new))
                codes[k] = len(at.choices)
                fresh.append((k, key))
            else:
                codes[k] = self._numbers[k][key]
        if grown is not None:
            self._kept.take(_Shelf(self.opened.wing, tuple(grown)))
            # Known only now: another thread that knows a number finds its choice.
            for k, key in fresh:
                self._numbers[k][key] = int(codes[k])
        return codes

    # ---- answers --------------------------------------------------------------------------------------

    def at_once(self, state: State) -> bool:
        """Whether everything for a state is in memory."""
        if self._kept is None or self._new_choices(state):
            return False
        segments = self._kept.segments
        return all((m, key) in segments.found for m, key in enumerate(segments.keys(self._codes(state))))

    def _new_choices(self, state: State) -> bool:
        for k, cell in enumerate(self.opened.cells):
            faces = cell.choices[state.choices[k]]
            if tuple((face, state.changes[k].of(cell.makes[face])) for face in faces) not in self._numbers[k]:
                return True
        return False

    def answer(self, state: State, load_factor: float | None = None) -> Answer:
        """Answer a state.

        Parameters
        ----------
        state : State
            Of the opened wing.
        load_factor : float or None
            Asked about; None for the file's. A specimen counts in multiples of its load.

        Returns
        -------
        Answer

        Raises
        ------
        models.wing.faults.WingFileError
            The state is no wing.
        models.loads.pull_up.LightAeroplane
            It is heavier than the aeroplane.
        fea.solve.Mechanism
            A part of it can move freely.
        """
        start = time.perf_counter()
        self._asked = time.monotonic()
        asked = self.case if load_factor is None else load_factor
        self._sound(state)
        if self._kept is None:
            with self._turn():
                return self._whole(state, asked, start)
        if self._new_choices(state):
            # A wood, a thickness or a grain that is new here: what it makes is read as the file would be.
            self.opened.text_of(state)
            with self._turn():
                codes = self._codes(state)
        else:
            codes = self._codes(state)
        kept = self._kept
        segments = kept.segments
        if any((m, key) not in segments.found for m, key in enumerate(segments.keys(codes))):
            with self._turn():
                try:
                    segments.segments(codes)
                except (Untabulated, np.linalg.LinAlgError):
                    # A web that changes more of the mesh than its own bay, or a part that nothing holds.
                    return self._whole(state, asked, start)
        faces = {(c.spar, c.bay): c.choices[i] for c, i in zip(kept.places.cells, codes.tolist())}
        with self._using:
            found = kept.answer(faces, asked, movement=True)
        assert found.movement is not None
        self._go_on(state)
        least: dict[Part, Least] = {}
        for one in found.reserves:
            least.setdefault(one.part, Least(one.part, one.mode, one.reserve_factor))
        return Answer(
            found.sentence,
            asked,
            found.load_factor_at_first_failure,
            tuple(least.values()),
            found.web_mass,
            found.tip_deflection,
            found.tip_twist,
            found.movement.moves,
            found.movement.points,
            False,
            time.perf_counter() - start,
        )

    def _sound(self, state: State) -> None:
        """Read how webs would be made in open bays too: what is wrong is said now, not at a later click."""
        for k, (cell, change) in enumerate(zip(self.opened.cells, state.changes)):
            if change == Change() or cell.choices[state.choices[k]]:
                continue
            for face in next((faces for faces in cell.choices if faces), ()):
                self._web(k, face, change.of(cell.makes[face]))

    def _whole(self, state: State, asked: float, start: float) -> Answer:
        analysis = analyse(self.opened.wing_of(state), per_bay=self.per_bay)
        return whole_answer(analysis, asked, start)

    def proven(self, state: State, load_factor: float | None = None) -> tuple[Answer, Analysis]:
        """The same by building, solving and checking the file that a state would be saved as.

        Parameters
        ----------
        state : State
            Of the opened wing.
        load_factor : float or None
            As `answer`.

        Returns
        -------
        Answer, Analysis
        """
        start = time.perf_counter()
        self._asked = time.monotonic()
        with self._turn():
            analysis = analyse(self.opened.wing_of(state), per_bay=self.per_bay)
            return whole_answer(analysis, self.case if load_factor is None else load_factor, start), analysis

    # ---- ahead of time --------------------------------------------------------------------------------

    def work_ahead(self) -> threading.Thread | None:
        """Begin to make the next clicks ready, in a thread of its own, until `stop`; None where there is
        nothing to make ready."""
        if self._kept is None:
            return None
        worker = threading.Thread(target=self._work, name="ahead", daemon=True)
        worker.start()
        return worker

    def stop(self) -> None:
        """End the work ahead of time."""
        self._stop = True
        self._ahead.changed.set()

    def left_to_do(self) -> tuple[int, int]:
        """Single changes of the state last asked about that are not ready yet, and how many there are."""
        return self._ahead.left, self._ahead.wanted

    def make_ready(self) -> None:
        """Make every single change of the file's own layout ready, here and now."""
        with self._building, contextlib.suppress(_Moved):
            for _ in self._steps(self._current, lambda _: None):
                pass

    def _go_on(self, state: State) -> None:
        if state == self._current:
            return
        moved = [k for k, (a, b) in enumerate(zip(state.choices, self._current.choices)) if a != b]
        moved += [k for k, (a, b) in enumerate(zip(state.changes, self._current.changes)) if a != b]
        self._near = moved[0] if moved else self._near
        self._current = state
        self._ahead.changed.set()

    def _work(self) -> None:
        while not self._stop:
            self._until_quiet()
            self._ahead.changed.clear()
            state = self._current

            def between(_: str, state: State = state) -> None:
                self._building.release()
                self._until_quiet()
                self._building.acquire()
                while self._waiting and not self._stop:
                    self._building.release()
                    self._until_quiet()
                    self._building.acquire()
                if self._stop or state != self._current:
                    raise _Moved

            try:
                with self._building:
                    for _ in self._steps(state, between):
                        pass
            except _Moved:
                continue
            except (Untabulated, LightAeroplane, WingFileError, np.linalg.LinAlgError):
                pass  # what cannot be made ready is answered, or refused, when it is asked for
            self._ahead.changed.wait()

    @contextlib.contextmanager
    def _turn(self) -> Iterator[None]:
        """Build for a question: before the work ahead of time, which else might never let go."""
        self._waiting.append(None)
        self._building.acquire()
        self._waiting.pop()
        try:
            yield
        finally:
            self._asked = time.monotonic()
            self._building.release()

    def _until_quiet(self) -> None:
        while (self._waiting or time.monotonic() - self._asked < _QUIET) and not self._stop:
            time.sleep(0.02)

    def _steps(self, state: State, between: Callable[[str], None]) -> Iterator[None]:
        """Single changes in the order in which they are likely to be asked for, then pairs of neighbours."""
        assert self._kept is not None
        segments = self._kept.segments
        base = self._codes(state)
        cells = self.opened.cells
        bay = cells[self._near].bay if cells else 0
        order = sorted(range(len(cells)), key=lambda k: (abs(cells[k].bay - bay), k))
        rows: list[list[Ints]] = [[], []]
        for k in order:
            n = len(cells[k].choices)
            for step in range(1, n):
                choices = _with(state.choices, k, (state.choices[k] + step) % n)
                rows[step > 1].append(self._codes(State(choices, state.changes)))
        every = [*rows[0], *rows[1]]
        self._ahead.wanted = len(every)

        def told(words: str) -> None:
            self._ahead.left = sum(not self._known(codes) for codes in every)
            between(words)

        near = [self._codes(_stepped(self.opened, state, k)) for k in order[:4]]
        pairs = [
            self._codes(_stepped(self.opened, _stepped(self.opened, state, k), j))
            for k in order
            for j in order
            if j < k and abs(cells[j].bay - cells[k].bay) <= 1
        ]
        for group in (near, rows[0], rows[1], pairs):
            segments.prepare(np.stack([base, *group]), told)
            yield None
        if len(segments.found) > _MOST_KEPT:
            keep = {(m, key) for codes in [base, *every] for m, key in enumerate(segments.keys(codes))}
            with self._using:
                for key in [key for key in segments.found if key not in keep]:
                    del segments.found[key]
        self._ahead.left = sum(not self._known(codes) for codes in every)

    def _known(self, codes: Ints) -> bool:
        assert self._kept is not None
        segments = self._kept.segments
        return all((m, key) in segments.found for m, key in enumerate(segments.keys(codes)))


_Key = tuple[str, Make]


def _with(values: tuple[Any, ...], k: int, value: Any) -> tuple[Any, ...]:
    return (*values[:k], value, *values[k + 1 :])


def _stepped(opened: Opened, state: State, k: int) -> State:
    n = len(opened.cells[k].choices)
    return State(_with(state.choices, k, (state.choices[k] + 1) % n), state.changes)


def whole_answer(analysis: Analysis, asked: float, start: float) -> Answer:
    """The answer of a wing that was built and solved whole.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    asked : float
        Load factor asked about.
    start : float
        When the work began, of `time.perf_counter`.

    Returns
    -------
    Answer
    """
    margins = check(analysis)
    up = asked / analysis.load_factor
    least: dict[Part, Least] = {}
    for row in margins.rows:
        least.setdefault(row.part, Least(row.part, row.mode, row.reserve_factor / up))
    far = max(spar.y_end for spar in analysis.wing.spars)
    tips = [
        float(spar_motion(analysis, s).deflection[-1])
        for s, spar in enumerate(analysis.wing.spars)
        if spar.y_end > far - 1e-6
    ]
    model = analysis.model
    moves = from_centre(model, analysis.solution.displacements[:, :, analysis.case])
    return Answer(
        sentence(margins),
        asked,
        margins.load_factor_at_first_failure(),
        tuple(least.values()),
        web_mass(model),
        max(tips, key=abs) * up,
        float(wing_twist(analysis)[1][-1]) * up,
        moves * up,
        model.structure.nodes,
        True,
        time.perf_counter() - start,
    )


def largest_difference(one: Answer, other: Answer) -> float:
    """Largest relative difference of two answers' reserve factors by bay, of the load at first failure, of
    mass and tip deflection; inf where they name different bays."""
    a, b = one.bays(), other.bays()
    if a.keys() != b.keys():
        return float("inf")
    pairs = [(a[key].reserve_factor, b[key].reserve_factor) for key in a]
    pairs += [
        (one.load_factor_at_first_failure, other.load_factor_at_first_failure),
        (one.web_mass, other.web_mass),
        (one.tip_deflection, other.tip_deflection),
    ]
    return max((abs(x / y - 1) if y else abs(x) for x, y in pairs if np.isfinite(y)), default=0.0)
