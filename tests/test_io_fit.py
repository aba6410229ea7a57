"""FIT rides: written by fit_tool (BSD), read by us through fitdecode (MIT)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from fit_tool.fit_file_builder import FitFileBuilder
from fit_tool.profile.messages.event_message import EventMessage
from fit_tool.profile.messages.file_id_message import FileIdMessage
from fit_tool.profile.messages.record_message import RecordMessage
from fit_tool.profile.profile_type import Event, EventType, FileType, Manufacturer
from fitdecode.utils import compute_crc
from hypothesis import given
from hypothesis import strategies as st

from loopwright.errors import NoAnswerError, WorldError
from loopwright.io import fit_read
from loopwright.io.fit_read import SEMICIRCLE_DEG
from loopwright.io.fit_sum import crc
from loopwright.io.tracks import read_tracks

START_MS = 1_700_000_000_000


def fit_bytes(
    count: int = 20, *, places: bool = True, stop_at: int = -1, more: bool = True
) -> bytes:
    builder = FitFileBuilder(auto_define=True)
    head = FileIdMessage()
    head.type = FileType.ACTIVITY
    head.manufacturer = Manufacturer.DEVELOPMENT.value
    head.time_created = START_MS
    builder.add(head)
    for i in range(count):
        record = RecordMessage()
        record.timestamp = START_MS + i * 1000
        if places:
            record.position_lat = 46.5 + i * 1e-4
            record.position_long = -13.2 - i * 2e-4
        if more:
            record.altitude = 500.0 + i
            record.heart_rate = 140
            record.power = 200 + i
            record.cadence = 80
            record.speed = 5.0
        builder.add(record)
        if i == stop_at:
            event = EventMessage()
            event.event = Event.TIMER
            event.event_type = EventType.STOP_ALL
            event.timestamp = START_MS + i * 1000
            builder.add(event)
    return bytes(builder.build().to_bytes())


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "morning <ride>.fit"


def test_records_become_a_track(path: Path) -> None:
    path.write_bytes(fit_bytes())
    (track,) = read_tracks(path)
    step = np.arange(20)
    np.testing.assert_allclose(track.lat, 46.5 + step * 1e-4, atol=SEMICIRCLE_DEG)
    np.testing.assert_allclose(track.lon, -13.2 - step * 2e-4, atol=SEMICIRCLE_DEG)
    np.testing.assert_allclose(track.ele_m, 500.0 + step, atol=0.2)
    np.testing.assert_array_equal(track.time_s, START_MS / 1000 + step)
    np.testing.assert_array_equal(track.extras["power_w"], 200.0 + step)
    assert set(track.extras) == {"power_w", "heart_rate_bpm", "cadence_rpm"}
    assert track.piece.tolist() == [0] * 20
    assert (track.name, track.source) == ("morning <ride>", path.name)


def test_a_stop_of_the_timer_begins_a_new_piece(path: Path) -> None:
    path.write_bytes(fit_bytes(6, stop_at=2))
    assert read_tracks(path)[0].piece.tolist() == [0, 0, 0, 1, 1, 1]


def test_a_stop_before_the_first_record_changes_nothing(path: Path) -> None:
    path.write_bytes(fit_bytes(2, places=False, stop_at=1) + fit_bytes(3))
    assert read_tracks(path)[0].piece.tolist() == [0, 0, 0]


def test_records_without_more_have_no_extras(path: Path) -> None:
    path.write_bytes(fit_bytes(4, more=False))
    (track,) = read_tracks(path)
    assert track.extras == {}
    assert np.isnan(track.ele_m).all()


def test_no_position_is_an_honest_no(path: Path) -> None:
    path.write_bytes(fit_bytes(places=False))
    with pytest.raises(NoAnswerError, match="no record has a position"):
        read_tracks(path)


def refusal(path: Path) -> str:
    with pytest.raises(WorldError) as caught:
        read_tracks(path)
    return str(caught.value)


def test_a_changed_byte_is_noticed(path: Path) -> None:
    data = bytearray(fit_bytes())
    data[-3] ^= 0xFF
    path.write_bytes(data)
    assert "its checksum does not match" in refusal(path)


@pytest.mark.parametrize("length", [12, 13, 14, 40, 300, -1])
def test_a_file_cut_short_is_told(path: Path, length: int) -> None:
    path.write_bytes(fit_bytes()[:length])
    assert "breaks off" in refusal(path) or "damaged" in refusal(path)


def test_a_position_off_the_globe_is_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fit_read, "SEMICIRCLE_DEG", SEMICIRCLE_DEG * 2)
    path.write_bytes(fit_bytes())
    assert "lat=93.0000 is off the globe at point 1" in refusal(path)


@pytest.mark.parametrize(
    ("limit", "words"), [("MESSAGE_LIMIT", "too many messages"), ("FILE_LIMIT", "is larger than")]
)
def test_limits(path: Path, monkeypatch: pytest.MonkeyPatch, limit: str, words: str) -> None:
    monkeypatch.setattr(fit_read, limit, 5)
    path.write_bytes(fit_bytes())
    assert words in refusal(path)


def test_content_decides_not_the_name(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    path.write_bytes(fit_bytes())
    assert len(read_tracks(path)[0]) == 20


@given(st.binary(min_size=1, max_size=400))
def test_the_checksum_against_the_librarys(data: bytes) -> None:
    assert crc(data) == compute_crc(data)


def test_the_checksum_against_its_published_check_value() -> None:
    """CRC-16/ARC of the nine digits is BB3D (catalogue of parametrised CRC algorithms)."""
    assert crc(b"123456789") == 0xBB3D


@pytest.mark.parametrize("filler", [b"\x40\0\0\x14\0\0", b"\0"])
def test_millions_of_empty_messages_are_refused_soon(path: Path, filler: bytes) -> None:
    body = b"\x40\0\0\x14\0\0" + filler * 1_000_000
    whole = b"\x0e" + fit_bytes(2)[1:4] + len(body).to_bytes(4, "little") + b".FIT\0\0" + body
    path.write_bytes(whole + crc(whole).to_bytes(2, "little"))
    with pytest.raises(WorldError, match="too many messages"):
        read_tracks(path)
