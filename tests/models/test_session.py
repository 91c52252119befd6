"""A session builds and eliminates once, and answers as those who work alone do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models import session as sessions
from models.analysis import analyse
from models.command.files import shipped
from models.session import Session
from models.strength import check
from models.strength.solved import Build
from models.studies.load_cases import load_cases
from models.studies.note import note
from models.studies.proof import proof
from models.wing.reading import read


@pytest.fixture(scope="module")
def trainer():
    return read(shipped()["trainer"])


def test_a_note_builds_each_side_once(trainer, monkeypatch):
    built, eliminated = [], []
    make, pin = sessions.build, sessions.pinned
    monkeypatch.setattr(sessions, "build", lambda *a, **k: built.append(k["whole"]) or make(*a, **k))
    monkeypatch.setattr(sessions, "pinned", lambda *a, **k: eliminated.append(a) or pin(*a, **k))
    session = Session(trainer, per_bay=1)
    found = note(trainer, session=session)
    assert built == [None, True]
    assert len(eliminated) == 2
    alone = proof(trainer, per_bay=1)
    assert_allclose(found.proof.highest, alone.highest, rtol=1e-9)
    assert [one.name for one in found.cases.cases] == [one.name for one in load_cases(trainer).cases]


def test_the_solved_wing_is_that_of_the_check(trainer):
    session, alone = Session(trainer, per_bay=1), analyse(trainer, per_bay=1)
    moves = session.side.sound.solution.displacements
    assert_allclose(moves, alone.solution.displacements, rtol=0, atol=1e-12 * np.abs(moves).max())
    assert session.side.margins.rows == check(session.side.sound).rows
    given = Session(trainer, per_bay=1, sound=alone)
    assert given.side.sound is alone
    assert given.side.model is alone.model


def test_other_masses_share_the_elimination():
    powered = read(shipped()["powered-tailless"])
    session = Session(powered, per_bay=1)
    lighter = replace(powered, masses=tuple(replace(m, mass=0.5 * m.mass) for m in powered.masses))
    frame = session.carrying(lighter)
    assert frame.factor.lu is session.side.factor.lu
    alone = analyse(lighter, per_bay=1)
    moves = frame.sound.solution.displacements
    assert_allclose(moves, alone.solution.displacements, rtol=0, atol=1e-9 * np.abs(moves).max())


def test_the_same_masses_share_all(trainer):
    session = Session(trainer, per_bay=1)
    again = replace(trainer, masses=tuple(replace(m) for m in trainer.masses))
    assert session.carrying(again) is session.side
    more = replace(again, case=replace(again.case, flying_mass=2 * again.case.flying_mass))
    frame = session.carrying(more)
    assert frame.assembly is session.side.assembly
    assert frame.sound.pull_up.flying_mass == more.case.flying_mass


def test_another_stiffness_does_not_fit(trainer):
    session, rigid = Session(trainer, per_bay=1), Session(trainer, per_bay=1, rigid_joints=True)
    assert session.side.factor.fits(session.side.assembly)
    assert not session.side.factor.fits(rigid.side.assembly)


def test_what_is_known_of_one_structure_is_not_told_of_another(trainer):
    known = Build()
    plain = analyse(trainer, per_bay=1)
    thick = replace(
        trainer,
        spars=tuple(
            replace(s, webs=tuple(replace(w, thickness=2 * w.thickness) for w in s.webs))
            for s in trainer.spars
        ),
    )
    other = analyse(thick, per_bay=1)
    assert check(plain, build=known).rows == check(plain).rows
    assert check(other, build=known).rows == check(other).rows
    assert check(plain, build=known).rows == check(plain).rows
