"""Answers for states of the page: exact at once where the wing is kept in memory, else by building it anew.

Where both sides of a wing are alike its webs are exchanged in memory (`models.studies.lightest.what_if`): a
choice, a wood, a thickness or a grain is another web of its cell, and the segments of the wing that hold it
are put together from portions (`models.studies.lightest.portions`). What builds must show for that is got
ready ahead of time by a second process (`models.live.aside`), or where there can be none by a thread; what is
missing all the same is built when it is asked for. Other wings are built and solved whole for every answer.
"""

from __future__ import annotations

import contextlib
import gc
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from fea.arrays import Array, Ints
from models.analysis import Analysis, analyse, from_centre, tip_deflection, wing_twist
from models.live.aside import Aside, begun
from models.live.cells import BadState, LiveState, WebChange, own_state
from models.live.opened import NotWritten, Opened
from models.live.shelf import Glued, Shelf
from models.loads.pull_up import LightAeroplane
from models.strength import check, sentence
from models.structure.model import Part
from models.studies.compare import web_mass
from models.studies.lightest.cover import SOME, SOON, Cover
from models.studies.lightest.places import BayChoices as Choices
from models.studies.lightest.portions import Composed, Portion, Portions, renumbered
from models.studies.lightest.segments import Segment, Untabulated
from models.studies.lightest.what_if import WhatIf
from models.wing.faults import WingFileError
from models.wing.parts import Web, Wing
from models.wing.web_entries import Make

_MOST_SEGMENTS = 300e6
"""Bytes of those that are put together in memory; beyond, only those of the layout in hand are kept."""
_MOST_PORTIONS = 500e6
"""Bytes of those in memory; beyond, those of the layout in hand are kept, and from then on only what single
changes need is made ready."""
_FEW_STATES = 32
"""States of a bay's webs up to which all of them are made ready; of a bay that has more, as with three spars,
those that single changes lead to: preparation grows with the cells and not with their combinations."""
_QUIET = 0.3
"""Seconds without a question before work ahead of time goes on, where a thread does it."""
_AFTER = 0.2
"""Seconds after an answer before segments are put together for the next."""
_PAUSE = 1.0
"""Seconds after which it is looked whether the work is to end, if nothing else happens."""


@dataclass(frozen=True)
class LeastReserve:
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
    least : tuple of LeastReserve
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
    built : bool
        What was not ready had to be built for it.
    """

    sentence: str
    load_factor: float
    load_factor_at_first_failure: float
    least: tuple[LeastReserve, ...]
    web_mass: float
    tip_deflection: float
    tip_twist: float
    moves: Array
    points: Array
    whole: bool
    seconds: float
    built: bool = False

    @property
    def reserve_factor(self) -> float:
        """Of what fails first."""
        return self.load_factor_at_first_failure / self.load_factor

    def bays(self) -> dict[tuple[str, str, int], LeastReserve]:
        """The worst of every bay of every spar and side."""
        found: dict[tuple[str, str, int], LeastReserve] = {}
        for one in self.least:
            part = one.part
            if part.bay is not None and part.spar:
                found.setdefault((part.side, part.spar, part.bay), one)
        return found


class _Kept(WhatIf):
    """A wing in memory whose cells may be given further choices."""

    places: Shelf
    segments: Portions

    def __init__(self, shelf: Shelf, per_bay: int) -> None:
        self.places, self.per_bay, self.tabulated = shelf, per_bay, True
        self.segments = Portions(shelf, per_bay=per_bay)

    def take(self, shelf: Shelf) -> None:
        """Go on with more choices; those that there were keep their numbers."""
        self.places = shelf
        self.segments.take(shelf)


@dataclass
class _Ahead:
    """Work ahead of time: how much there is, how much is done."""

    wanted: int = 0
    left: int = 0
    changed: threading.Event = field(default_factory=threading.Event)


class LiveEngine:
    """Answers for one opened wing file.

    Parameters
    ----------
    opened : Opened
        The file.
    per_bay : int
        Elements along a bay.
    aside : Aside or None
        A second process that has been started for it; ended by `stop`.
    """

    def __init__(self, opened: Opened, *, per_bay: int = 4, aside: Aside | None = None) -> None:
        self.opened, self.per_bay = opened, per_bay
        self.case = opened.wing.case.load_factor if opened.wing.flies else 1.0
        self._webs: dict[tuple[int, str, Make], Web] = {}
        self._numbers: list[dict[tuple[_Key, ...], int]] = [{} for _ in opened.cells]
        self._building = threading.Lock()
        self._using = threading.Lock()
        self._choosing = threading.RLock()
        self._waiting: deque[None] = deque()
        self._asked = time.monotonic()
        self._ahead = _Ahead()
        self._current: LiveState = own_state(opened.cells)
        self._near = 0
        self._lean = False
        self._stop = False
        self._aside = aside
        self._worker: threading.Thread | None = None
        self._first = (0, 0)
        self._looks: dict[int, LiveState] = {}
        self._complete: tuple[WebChange, ...] | None = None
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
                choices.append(tuple(Glued(self._web(k, face, cell.makes[face])) for face in faces))
            cells.append(Choices(cell.spar, cell.bay, tuple(choices), cell.own))
        return _Kept(Shelf(self.opened.wing, tuple(cells)), self.per_bay)

    def _web(self, k: int, face: str, make: Make) -> Web:
        """The web as a file with it would be read."""
        found = self._webs.get((k, face, make))
        if found is None:
            cell = self.opened.cells[k]
            own = own_state(self.opened.cells)
            choice = next(i for i, faces in enumerate(cell.choices) if face in faces)
            change = WebChange(make.thickness, make.wood, make.grain)
            state = LiveState(_with(own.choices, k, choice), _with(own.changes, k, change))
            known = list(self._webs.items())
            same = (w for (_, f, m), w in known if m == make and (f == "between") == (face == "between"))
            found = next(same, None)
            if found is not None:  # of one thickness, wood, grain and glue: only the place differs
                found = replace(found, bay=cell.bay, face=face)
            else:
                wing = self.opened.wing_of(state)
                spar = next(s for s in wing.spars if s.name == cell.spar)
                at = (cell.sides[0], cell.bay, face)
                found = next(w for w in spar.webs if (w.side, w.bay, w.face) == at)
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

    def _key(self, k: int, state: LiveState) -> tuple[_Key, ...]:
        """The faces that a state's choice in a cell gives webs, and how each is made."""
        cell, change = self.opened.cells[k], state.changes[k]
        return tuple((face, change.of(cell.makes[face])) for face in cell.choices[state.choices[k]])

    def _codes(self, state: LiveState) -> Ints:
        """Numbers of a state's choices; choices that are new are put on the shelf."""
        with self._choosing:
            return self._numbered(state)

    def _numbered(self, state: LiveState) -> Ints:
        assert self._kept is not None
        codes = np.zeros(len(self.opened.cells), dtype=np.intp)
        grown: list[Choices] | None = None
        fresh: list[tuple[int, tuple[_Key, ...]]] = []
        for k in range(len(codes)):
            key = self._key(k, state)
            if key not in self._numbers[k]:
                grown = list(self._kept.places.cells) if grown is None else grown
                at = grown[k]
                new = tuple(Glued(self._web(k, face, make)) for face, make in key)
                grown[k] = replace(at, choices=(*at.choices, new))
                codes[k] = len(at.choices)
                fresh.append((k, key))
            else:
                codes[k] = self._numbers[k][key]
        if grown is not None:
            self._kept.take(Shelf(self.opened.wing, tuple(grown)))
            # Known only now: another thread that knows a number finds its choice.
            for k, key in fresh:
                self._numbers[k][key] = int(codes[k])
        return codes

    # ---- answers --------------------------------------------------------------------------------------

    def at_once(self, state: LiveState) -> bool:
        """Whether nothing has to be built for a state."""
        if self._kept is None or self._new_choices(state):
            return False
        return self._kept.segments.at_hand(self._codes(state))

    def _new_choices(self, state: LiveState) -> bool:
        return any(self._key(k, state) not in known for k, known in enumerate(self._numbers))

    def answer(self, state: LiveState, load_factor: float | None = None) -> Answer:
        """Answer a state at a load factor: the file's where none is asked about; a specimen's, multiples.

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
        faces = {(c.spar, c.bay): c.choices[i] for c, i in zip(kept.places.cells, codes.tolist())}
        built = False
        try:
            if not kept.segments.at_hand(codes):
                with self._turn():
                    # What was being built meanwhile may have been this.
                    if not kept.segments.at_hand(codes):
                        self._build(codes)
                        built = True
            with self._using:
                found = kept.answer(faces, asked, movement=True)
        except (Untabulated, np.linalg.LinAlgError):
            # A web that changes more of the mesh than its own bay, or a part that nothing holds.
            with self._turn():
                return self._whole(state, asked, start)
        assert found.movement is not None
        self._go_on(state)
        least: dict[Part, LeastReserve] = {}
        for one in found.reserves:
            least.setdefault(one.part, LeastReserve(one.part, one.mode, one.reserve_factor))
        return Answer(
            found.sentence, asked, found.load_factor_at_first_failure, tuple(least.values()), found.web_mass,
            found.tip_deflection, found.tip_twist, found.movement.moves, found.movement.points, False,
            time.perf_counter() - start, built,
        )  # fmt: skip

    def _sound(self, state: LiveState) -> None:
        """Read how webs would be made in open bays too: what is wrong is said now, not at a later click."""
        for k, (cell, change) in enumerate(zip(self.opened.cells, state.changes)):
            if change == WebChange() or cell.choices[state.choices[k]]:
                continue
            for face in next((faces for faces in cell.choices if faces), ()):
                self._web(k, face, change.of(cell.makes[face]))

    def _whole(self, state: LiveState, asked: float, start: float) -> Answer:
        return whole_answer(analyse(self.opened.wing_of(state), per_bay=self.per_bay), asked, start)

    def proven(self, state: LiveState, load_factor: float | None = None) -> tuple[Answer, Analysis]:
        """The same by building, solving and checking the file that a state would be saved as."""
        start = time.perf_counter()
        self._asked = time.monotonic()
        with self._turn():
            analysis = analyse(self.opened.wing_of(state), per_bay=self.per_bay)
            return whole_answer(analysis, self.case if load_factor is None else load_factor, start), analysis

    def proof(
        self, state: LiveState, load_factor: float | None, notes: Callable[[Analysis], list[str]]
    ) -> tuple[Answer, list[str], float]:
        """The same as `proven`, by the second process where there is one; `notes` makes the sentences.

        Returns
        -------
        Answer, list of str, float
            The answer, the sentences, and the share of the loads by which forces are out of balance.

        Raises
        ------
        BadState
            The program ends meanwhile.
        """
        asked = self.case if load_factor is None else load_factor
        aside = self._aside
        done = None if aside is None else aside.proof(self.opened, state, asked, self.per_bay, notes)
        if done is not None:
            found: tuple[Answer, list[str], float] = done
            return found
        if self._stop:
            raise BadState("the program is ending.")
        answer, analysis = self.proven(state, asked)
        return answer, notes(analysis), analysis.solution.checks.residual

    # ---- ahead of time --------------------------------------------------------------------------------

    def work_ahead(self, *, aside: bool = True) -> threading.Thread | None:
        """Begin to make the next clicks ready, until `stop`: in a process of its own (`aside`), if there is
        one or one can be started, else in a thread.

        The thread that takes in what the process has built, or builds itself; None where there is nothing to
        make ready. Begun once, it is the same one.
        """
        if self._kept is None or self._worker is not None:
            return self._worker
        if aside and self._aside is None:
            self._aside = begun()
        self._worker = threading.Thread(target=self._work, name="ahead", daemon=True)
        self._worker.start()
        return self._worker

    def begin_first(self) -> None:
        """Make ready what single changes need, together with the second process, in a thread; clicks are
        answered meanwhile, and `first_left` tells how it goes on."""
        if self._kept is not None:
            self._first = (1, 1)
            threading.Thread(target=self._make_first, name="first", daemon=True).start()

    def first_left(self) -> tuple[int, int]:
        """Builds that `begin_first` has still to do, and how many it had."""
        return self._first

    def _make_first(self) -> None:
        try:
            layouts = self.first_builds()
            self._first = (len(layouts), len(layouts))

            def told(n: int, left: int) -> bool:
                self._first = (left, len(layouts))
                self._until_quiet()
                return True

            self.make_ready(layouts, told)
            # What is kept now stays; a search through it for what does not would hold a click up.
            gc.collect()
            gc.freeze()
        finally:
            self._first = (0, self._first[1])
            self._ahead.changed.set()

    def stop(self) -> None:
        """End the work ahead of time, and its process."""
        self._stop = True
        self._ahead.changed.set()
        if self._aside is not None:
            self._aside.end()

    def left_to_do(self) -> tuple[int, int]:
        """Single changes of the state last asked about that are not ready yet, and how many there are."""
        return self._ahead.left, self._ahead.wanted

    def first_builds(self, least: float = SOON) -> list[Ints]:
        """Layouts whose builds make changes of the layout in hand ready, the likeliest first; none for a wing
        that is solved whole.

        `least` is the weight of `models.studies.lightest.cover` down to which: `NEXT` for the next step of
        each cell alone, `SOON` for every single change, `SOME` for every layout that there is.
        """
        if self._kept is None:
            return []
        segments, cover = self._kept.segments, self._cover(self._current)
        known = set(segments.known)
        layouts: list[Ints] = []
        while (codes := cover.most(known, least)) is not None:
            layouts.append(codes)
            known.update(enumerate(segments.states(codes)))
        return layouts

    def make_ready(self, layouts: list[Ints], progress: Callable[[int, int], bool] | None = None) -> None:
        """Build layouts, as `first_builds` gives them, now, the second process helping if there is one.

        `progress` is told before every build which it is and how many layouts are not ready yet, and says
        whether to go on.
        """
        if self._kept is None:
            return
        segments, aside = self._kept.segments, self._aside
        if aside is not None:
            # Both begin at opposite ends until they meet.
            aside.build(layouts[::-1])
        for n, codes in enumerate(layouts):
            if not segments.unknown(codes):
                continue
            left = sum(bool(segments.unknown(one)) for one in layouts)
            if self._stop or (progress is not None and not progress(n, left)):
                break
            with self._building, contextlib.suppress(Untabulated):
                self._build(codes)  # what cannot be is said, or solved whole, when it is asked for
        cover = self._cover(self._current)
        self._ahead.left, self._ahead.wanted = cover.left(segments.known), len(cover.changes)

    def _build(self, codes: Ints) -> None:
        """Build a layout here, and say so to the second process."""
        assert self._kept is not None
        wanted = self._kept.segments.unknown(codes)
        self._kept.segments.harvest(codes)
        if self._aside is not None:
            self._aside.knows(wanted)

    def _about(self, state: LiveState) -> tuple[Ints, list[list[int]]]:
        """Numbers of a state's choices, and of all that clicks in the plan may make of each cell."""
        here = self._codes(state)
        choices: list[list[int]] = [[] for _ in self.opened.cells]
        for step in range(max((len(cell.choices) for cell in self.opened.cells), default=0)):
            turned = [(c + step) % len(cell.choices) for c, cell in zip(state.choices, self.opened.cells)]
            codes = self._codes(LiveState(tuple(turned), state.changes)).tolist()
            for k, cell in enumerate(self.opened.cells):
                if step < len(cell.choices):
                    choices[k].append(codes[k])
        return here, choices

    def _cover(self, state: LiveState) -> Cover:
        assert self._kept is not None
        return Cover(self._kept.segments, *self._about(state), most=_FEW_STATES)

    def _go_on(self, state: LiveState) -> None:
        if state != self._current:
            moved = [k for k, (a, b) in enumerate(zip(state.choices, self._current.choices)) if a != b]
            self._near = moved[0] if moved else self._near
            self._current = state
            self._ahead.changed.set()

    def _work(self) -> None:
        aside = self._aside
        if aside is not None:
            asking = threading.Thread(target=self._ask_aside, args=(aside,), name="asking", daemon=True)
            asking.start()
            self._take_in(aside)
            self._aside = None
            self._ahead.changed.set()
            asking.join()
        while not self._stop:
            self._until_quiet()
            self._ahead.changed.clear()
            state = self._current
            try:
                cover = self._cover(state)
                while not self._stop and state == self._current and self._built(cover):
                    self._until_quiet()
                    self._tidy()
            except (Untabulated, LightAeroplane, WingFileError, NotWritten, np.linalg.LinAlgError):
                pass  # what cannot be made ready is answered, or refused, when it is asked for
            self._ahead.changed.wait(_PAUSE)

    def _built(self, cover: Cover) -> bool:
        """Build for one layout here; False where nothing is left to do."""
        assert self._kept is not None
        segments = self._kept.segments
        with self._building:
            if not self._waiting:
                codes = cover.most(segments.known, SOON if self._lean else SOME)
                if codes is not None:
                    segments.harvest(codes)
                self._ahead.left, self._ahead.wanted = cover.left(segments.known), len(cover.changes)
                return codes is not None
        return True

    def _ask_aside(self, aside: Aside) -> None:
        """Tell the second process where the page is, after every change."""
        assert self._kept is not None
        shelf, told, number = self._kept.places, None, 0
        aside.begin(self._kept.segments)
        while not self._stop and aside.alive:
            self._ahead.changed.clear()
            if self._current != told:
                told = self._current
                if self._tidy():
                    aside.forget()
                    self._complete = None
                # Where every layout of these makes is known, another of them asks for nothing.
                if told.changes != self._complete:
                    with contextlib.suppress(WingFileError, NotWritten):
                        with self._choosing:
                            codes, choices = self._about(told)
                            places = self._kept.places
                        if places is not shelf:
                            shelf = places
                            aside.take(shelf)
                        number += 1
                        self._looks[number] = told
                        aside.look(number, codes, choices, _FEW_STATES, SOON if self._lean else SOME)
            if not self._first[0]:
                self._put_together()
            self._ahead.changed.wait(_PAUSE)

    def _put_together(self) -> None:
        """Put segments of the next steps together while nobody asks, those near the last change first."""
        assert self._kept is not None
        state, cells = self._current, self.opened.cells
        segments = self._kept.segments
        bay = cells[self._near].bay if cells else 0
        for k in sorted(range(len(cells)), key=lambda k: (abs(cells[k].bay - bay), k)):
            step = (state.choices[k] + 1) % len(cells[k].choices)
            codes = self._codes(LiveState(_with(state.choices, k, step), state.changes))
            for m, key in enumerate(segments.keys(codes)):
                if (m, key) in segments.found:
                    continue
                while time.monotonic() - self._asked < _AFTER:
                    if self._stop or state is not self._current:
                        return
                    time.sleep(0.01)
                if self._stop or state is not self._current or _bytes(segments.found) > _MOST_SEGMENTS:
                    return
                with contextlib.suppress(KeyError, np.linalg.LinAlgError):  # not built yet, or never
                    segments.put_together(m, codes)

    def _take_in(self, aside: Aside) -> None:
        """Take in what the second process has built, until it ends."""
        assert self._kept is not None
        segments = self._kept.segments
        for what, data in aside.received():
            if what == "left":
                number, self._ahead.left, self._ahead.wanted, done = data
                self._looks = {n: state for n, state in list(self._looks.items()) if n >= number}
                if done and number in self._looks:
                    aside.step_back()
                    self._complete = self._looks[number].changes
            else:
                shown, names = data
                numbers = aside.numbers(names, segments.register.number)
                for key, portion in shown:
                    if key not in segments.known:
                        segments.known[key] = renumbered(portion, numbers)

    def _tidy(self) -> bool:
        """Keep what is in memory within bounds; whether portions were given up."""
        assert self._kept is not None
        segments = self._kept.segments
        few, many = _bytes(segments.found) <= _MOST_SEGMENTS, _bytes(segments.known) > _MOST_PORTIONS
        if few and not many:
            return False
        with self._using, self._building:
            codes = self._codes(self._current)
            if not few:
                keep = set(enumerate(segments.keys(codes)))
                segments.found = {key: one for key, one in list(segments.found.items()) if key in keep}
            if many:
                self._lean = True
                here = set(enumerate(segments.states(codes)))
                segments.known = {key: one for key, one in list(segments.known.items()) if key in here}
        return many

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


_Key = tuple[str, Make]


def _bytes(kept: Mapping[Any, Portion | Composed | Segment]) -> float:
    """About how much memory portions or segments take."""
    return float(sum(one.size for one in list(kept.values())))


def _with(values: tuple[Any, ...], k: int, value: Any) -> tuple[Any, ...]:
    return (*values[:k], value, *values[k + 1 :])


def whole_answer(analysis: Analysis, asked: float, start: float) -> Answer:
    """The answer of a wing solved whole at a load factor; `start` by `time.perf_counter`."""
    margins = check(analysis)
    up = asked / analysis.load_factor
    least: dict[Part, LeastReserve] = {}
    for row in margins.rows:
        least.setdefault(row.part, LeastReserve(row.part, row.mode, row.reserve_factor / up))
    model = analysis.model
    moves = from_centre(model, analysis.solution.displacements[:, :, analysis.case])
    return Answer(
        sentence(margins), asked, margins.load_factor_at_first_failure(), tuple(least.values()),
        web_mass(model), tip_deflection(analysis) * up, float(wing_twist(analysis)[1][-1]) * up, moves * up,
        model.structure.nodes, True, time.perf_counter() - start,
    )  # fmt: skip


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
