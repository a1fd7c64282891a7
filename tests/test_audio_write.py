"""What is written can be read again, and a failed write leaves everything as it was."""

from __future__ import annotations

import os
import wave
from pathlib import Path

import numpy as np
import pytest

from coach.audio.read import RATE_HZ, probe, read
from coach.audio.write import encode_ogg, replace_file, write_wav
from coach.errors import CoachError


def voice_like(rate_hz: int, seconds: float = 5.0) -> np.ndarray:
    """A buzz of harmonics that swells and fades three times a second."""
    at_s = np.arange(round(rate_hz * seconds)) / rate_hz
    buzz = sum(np.sin(2 * np.pi * 150 * k * at_s) / k for k in range(1, 16))
    return (0.2 * buzz * (0.5 + 0.5 * np.sin(2 * np.pi * 3 * at_s))).astype(np.float32)


def envelope(samples: np.ndarray) -> np.ndarray:
    """RMS of each 20 ms of the first 4.9 s: opus keeps these, not the wave itself."""
    return np.sqrt(np.mean(np.square(samples[: 245 * 320].reshape(245, 320)), axis=1))


def test_a_wav_is_what_the_standard_library_reads(tmp_path: Path) -> None:
    """Samples are rounded to 16 bits, louder ones clipped, NaN made silent."""
    write_wav(tmp_path / "a.wav", np.array([0.0, 0.5, -1.0, 3.0, np.nan, np.inf], np.float32), 8000)
    with wave.open(str(tmp_path / "a.wav")) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 8000)
        assert np.frombuffer(file.readframes(9), "<i2").tolist() == [0, 16384, -32767, 32767, 0, 32767]


def test_a_wav_comes_back(tmp_path: Path) -> None:
    """Written and read samples agree to half a step."""
    write_wav(tmp_path / "a.wav", voice_like(RATE_HZ), RATE_HZ)
    np.testing.assert_allclose(read(tmp_path / "a.wav").samples, voice_like(RATE_HZ), atol=5e-5)


@pytest.mark.parametrize("rate_hz", [8000, 16000, 22050, 44100, 48000, 96000])
def test_an_ogg_comes_back(tmp_path: Path, rate_hz: int) -> None:
    """Opus keeps length, loudness and time of the sound at any rate, in a few kilobytes a second."""
    content = encode_ogg(voice_like(rate_hz), rate_hz)
    (tmp_path / "a.ogg").write_bytes(content)
    sound = read(tmp_path / "a.ogg")
    assert probe(tmp_path / "a.ogg").codec == "opus"
    assert sound.seconds == pytest.approx(5.0, abs=0.01)
    assert len(content) < 5 * 5000
    before, after = envelope(voice_like(RATE_HZ)), envelope(sound.samples)
    assert np.corrcoef(before, after)[0, 1] > 0.97
    assert after.mean() == pytest.approx(before.mean(), rel=0.15)


def test_the_same_sound_gives_the_same_bytes() -> None:
    """A page made twice is the same page."""
    assert encode_ogg(voice_like(RATE_HZ), RATE_HZ) == encode_ogg(voice_like(RATE_HZ), RATE_HZ)


def test_nothing_to_encode_is_our_own_mistake() -> None:
    """No samples, or several channels, are a ValueError."""
    with pytest.raises(ValueError, match="no samples"):
        encode_ogg(np.empty(0, np.float32), RATE_HZ)
    with pytest.raises(ValueError, match="one channel"):
        encode_ogg(np.zeros((2, 5), np.float32), RATE_HZ)


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    """The line names the file and says what to do."""
    with pytest.raises(CoachError, match=r"a\.wav: cannot be written .*; choose a folder"):
        write_wav(tmp_path / "none" / "a.wav", voice_like(RATE_HZ), RATE_HZ)


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the last step fails, the old content stays and no scrap is left."""

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    target = tmp_path / "a.wav"
    target.write_bytes(b"old")
    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(CoachError, match="No space left on device"):
        replace_file(target, b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["a.wav"]
    assert target.read_bytes() == b"old"


@pytest.mark.skipif(os.name == "nt", reason="permissions are of another kind here")
def test_permissions_are_those_of_any_file(tmp_path: Path) -> None:
    """A new file follows the umask; a replaced one keeps what it had."""
    plain, ours = tmp_path / "plain", tmp_path / "ours"
    plain.touch()
    replace_file(ours, b"x")
    assert ours.stat().st_mode == plain.stat().st_mode
    ours.chmod(0o600)
    replace_file(ours, b"y")
    assert ours.stat().st_mode & 0o777 == 0o600
