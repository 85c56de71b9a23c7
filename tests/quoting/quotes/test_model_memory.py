"""What was found out about a model is remembered by its content and by what was asked."""

import os
import threading

import pytest

from quoting.intake.model_job import ModelRefusedError
from quoting.quotes import model_memory
from quoting.quotes.model_memory import (
    MOST_AT_ONCE,
    NotMeasuredError,
    memory_folder,
    remembered,
    remembered_soon,
)

FOUND = {"kind": "stl", "scale": 0.001, "found": {"measures": {"length": 0.6}}, "failed": {}}


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def work():
    """In place of the work on the file: counts how often it is done."""

    def done(path, **options):
        done.asked.append(options)
        return FOUND

    done.asked = []
    return done


@pytest.fixture
def part(tmp_path):
    (tmp_path / "part.stl").write_bytes(b"solid")
    return tmp_path / "part.stl"


def test_the_same_is_worked_out_once_whatever_the_file_is_called(part, work):
    assert remembered(part, work=work, unit=0.001) == FOUND
    same = part.rename(part.with_name("other.stl"))
    assert remembered(same, work=work, unit=0.001) == FOUND
    assert len(work.asked) == 1


def test_another_content_another_option_or_other_code_is_worked_out_anew(part, work, monkeypatch):
    remembered(part, work=work, unit=0.001)
    remembered(part, work=work, unit=0.0254)
    part.write_bytes(b"solid other")
    remembered(part, work=work, unit=0.0254)
    monkeypatch.setattr(model_memory, "_code", lambda: "other")
    remembered(part, work=work, unit=0.0254)
    assert len(work.asked) == 4


def test_a_refusal_is_not_remembered(part, work):
    def refuse(path, **options):
        raise ModelRefusedError("it took too long")

    with pytest.raises(ModelRefusedError):
        remembered(part, work=refuse)
    assert remembered(part, work=work) == FOUND


@pytest.mark.parametrize("broken", [b"", b"{", b"[]", b'{"a": NaN}', b"\xff"])
def test_a_broken_memory_is_worked_out_anew(part, work, broken):
    remembered(part, work=work)
    (kept,) = memory_folder().iterdir()
    kept.write_bytes(broken)
    assert remembered(part, work=work) == FOUND
    assert len(work.asked) == 2


def test_the_longest_unused_are_let_go_and_no_half_written_file_stays(part, work, monkeypatch):
    monkeypatch.setattr(model_memory, "MOST_REMEMBERED", 3)
    for number in range(3):
        remembered(part, work=work, body=number)
    for age, kept in enumerate(sorted(memory_folder().iterdir())):
        os.utime(kept, (age, age))
    remembered(part, work=work, body=0)  # used again, so it stays
    remembered(part, work=work, body=7)
    assert len(list(memory_folder().iterdir())) == 3
    assert {kept.suffix for kept in memory_folder().iterdir()} == {".json"}
    remembered(part, work=work, body=0)
    assert len(work.asked) == 4


@pytest.fixture
def slow(monkeypatch):
    """Work that lasts until it is let go, and a request that has no patience."""

    def done(path, **options):
        done.asked.append(options)
        done.go_on.wait(20)
        if done.refused:
            raise ModelRefusedError(done.refused, "unit")
        return FOUND

    done.asked, done.go_on, done.refused = [], threading.Event(), ""
    monkeypatch.setattr(model_memory, "model_report", done)
    monkeypatch.setattr(model_memory, "A_MOMENT", 0.05)
    yield done
    done.go_on.set()
    ended()


def ended():
    for work in tuple(model_memory._under_way.values()):
        work.join(20)


def test_a_request_waits_for_a_model_that_is_measured_in_a_moment(part, slow, monkeypatch):
    monkeypatch.setattr(model_memory, "A_MOMENT", 20)
    slow.go_on.set()
    assert remembered_soon(part, unit=0.001) == FOUND
    assert remembered_soon(part, unit=0.001) == FOUND
    assert len(slow.asked) == 1


def test_a_request_does_not_wait_for_longer_and_finds_the_work_done_when_it_comes_again(part, slow):
    for _ in range(3):
        with pytest.raises(NotMeasuredError):
            remembered_soon(part, unit=0.001)
    slow.go_on.set()
    ended()
    assert remembered_soon(part, unit=0.001) == FOUND
    assert len(slow.asked) == 1


def test_only_so_many_models_are_measured_beside_the_requests_of_a_process(part, slow):
    for unit in range(1, MOST_AT_ONCE + 3):
        with pytest.raises(NotMeasuredError):
            remembered_soon(part, unit=unit)
    assert len(slow.asked) == MOST_AT_ONCE


def test_a_refusal_is_told_to_the_request_that_comes_again_and_forgotten_after_a_while(part, slow, monkeypatch):
    slow.refused = "it took too long"
    with pytest.raises(NotMeasuredError):
        remembered_soon(part, unit=0.001)
    slow.go_on.set()
    ended()
    for _ in range(2):
        with pytest.raises(ModelRefusedError, match="it took too long") as told:
            remembered_soon(part, unit=0.001)
        assert told.value.about == "unit"
    assert len(slow.asked) == 1

    monkeypatch.setattr(model_memory, "A_MOMENT", 20)
    monkeypatch.setattr(model_memory, "REFUSAL_STANDS", 0)
    slow.refused = ""
    assert remembered_soon(part, unit=0.001) == FOUND
