"""Recordings of every common kind come in as mono samples, and bad files are refused with a line that helps."""

from __future__ import annotations

import os
import tracemalloc
import wave
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

from coach.audio import read as reading
from coach.audio.read import RATE_HZ, blocks, probe, read
from coach.errors import CoachError

SECONDS = 3.0
TONE_HZ = 440.0


def tone(rate_hz: int, seconds: float = SECONDS, level: float = 0.5) -> np.ndarray:
    """A sine, float32 (n,)."""
    return (level * np.sin(2 * np.pi * TONE_HZ * np.arange(round(rate_hz * seconds)) / rate_hz)).astype(np.float32)


def write_pcm(path: Path, channels: np.ndarray, rate_hz: int) -> Path:
    """A 16-bit wav of (channels, n) by the standard library, without the code under test."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(len(channels))
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(np.round(channels.T * 32767).astype("<i2").tobytes())
    return path


def encode(
    path: Path, samples: np.ndarray, rate_hz: int, codec: str, layout: str = "mono", video: bool = False
) -> Path:
    """The same samples in every channel of layout, coded by codec, perhaps beside a moving picture."""
    n_channels = av.AudioLayout(layout).nb_channels
    with av.open(str(path), "w") as container:
        picture = container.add_stream(PICTURE_CODECS[path.suffix], rate=5) if video else None
        stream = container.add_stream(codec, rate=rate_hz, layout=layout)
        if picture is not None:
            picture.width, picture.height, picture.pix_fmt = 64, 48, "yuv420p"
            for number in range(round(5 * len(samples) / rate_hz)):
                frame = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 8 * number % 256, np.uint8), format="rgb24")
                container.mux(picture.encode(frame))
            container.mux(picture.encode(None))
        packed = np.repeat(np.round(samples * 32767).astype(np.int16), n_channels).reshape(1, -1)
        for start in range(0, packed.shape[1], rate_hz * n_channels):
            part = packed[:, start : start + rate_hz * n_channels]
            sound = av.AudioFrame.from_ndarray(part, format="s16", layout=layout)
            sound.sample_rate, sound.time_base, sound.pts = rate_hz, Fraction(1, rate_hz), start // n_channels
            container.mux(stream.encode(sound))
        container.mux(stream.encode(None))
    return path


PICTURE_CODECS = {".mp4": "mpeg4", ".mov": "mpeg4", ".webm": "libvpx"}
KINDS = [
    ("u8.wav", 8000, "pcm_u8", "mono"),
    ("s16.wav", 44100, "pcm_s16le", "stereo"),
    ("s24.wav", 48000, "pcm_s24le", "mono"),
    ("s32.wav", 22050, "pcm_s32le", "mono"),
    ("f32.wav", 96000, "pcm_f32le", "mono"),
    ("surround.wav", 48000, "pcm_s16le", "7.1"),
    ("plain.mp3", 44100, "libmp3lame", "stereo"),
    ("voice.m4a", 44100, "aac", "mono"),
    ("voice.opus", 48000, "libopus", "mono"),
    ("voice.ogg", 16000, "libopus", "stereo"),
    ("whole.flac", 32000, "flac", "mono"),
    ("raw.aac", 44100, "aac", "mono"),
    ("film.mp4", 44100, "aac", "stereo"),
    ("film.mov", 44100, "aac", "mono"),
    ("film.webm", 48000, "libopus", "mono"),
]


def middle_dominates(samples: np.ndarray) -> bool:
    """Whether the tone's frequency is the strongest of the middle second."""
    spectrum = np.abs(np.fft.rfft(samples[RATE_HZ : 2 * RATE_HZ]))
    return int(np.argmax(spectrum)) == round(TONE_HZ)


@pytest.mark.parametrize(("name", "rate_hz", "codec", "layout"), KINDS, ids=[kind[0] for kind in KINDS])
def test_every_common_kind_is_read(tmp_path: Path, name: str, rate_hz: int, codec: str, layout: str) -> None:
    """A tone comes back with its length, its height and its frequency from every kind of file."""
    path = encode(tmp_path / name, tone(rate_hz), rate_hz, codec, layout, video=name.startswith("film"))
    sound = read(path)
    inner = sound.samples[RATE_HZ // 2 : -RATE_HZ // 2]
    assert sound.samples.dtype == np.float32
    assert sound.samples.ndim == 1
    assert sound.seconds == pytest.approx(SECONDS, abs=0.1)
    assert np.abs(inner).max() == pytest.approx(0.5, abs=0.04)
    assert middle_dominates(sound.samples)
    assert not sound.truncated


def test_samples_equal_those_the_standard_library_reads(tmp_path: Path) -> None:
    """A 16 kHz mono wav is handed out sample by sample, unchanged."""
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (1, 20_000))
    path = write_pcm(tmp_path / "noise.wav", noise, RATE_HZ)
    with wave.open(str(path)) as file:
        plain = np.frombuffer(file.readframes(20_000), "<i2") / 32768
    np.testing.assert_array_equal(read(path).samples, plain.astype(np.float32))


def test_probe_tells_without_decoding(tmp_path: Path) -> None:
    """Kind, codec, rate, channels and length come from the header."""
    about = probe(write_pcm(tmp_path / "two.wav", np.stack([tone(44100)] * 2), 44100))
    assert (about.container, about.codec, about.rate_hz, about.channels) == ("wav", "pcm_s16le", 44100, 2)
    assert about.seconds == pytest.approx(SECONDS)


@pytest.mark.parametrize("second", [0.0, -1.0], ids=["silent", "opposed"])
def test_a_dead_or_opposed_channel_does_not_weaken_the_voice(tmp_path: Path, second: float) -> None:
    """Where the mean of the channels would lose the voice, the louder channel is taken."""
    path = write_pcm(tmp_path / "pair.wav", np.stack([tone(RATE_HZ), second * tone(RATE_HZ)]), RATE_HZ)
    np.testing.assert_allclose(read(path).samples, tone(RATE_HZ), atol=1e-3)


def test_channels_of_equal_worth_are_averaged(tmp_path: Path) -> None:
    """Noise of its own in each channel falls when both carry the voice."""
    noise = np.random.default_rng(2).normal(0, 0.05, (2, len(tone(RATE_HZ))))
    path = write_pcm(tmp_path / "pair.wav", tone(RATE_HZ) + noise, RATE_HZ)
    left = read(path).samples - tone(RATE_HZ)
    assert np.std(left) == pytest.approx(0.05 / np.sqrt(2), rel=0.05)


def test_twelve_channels_are_mixed(tmp_path: Path) -> None:
    """A many-channel interface's file is read like any other."""
    path = write_pcm(tmp_path / "many.wav", np.stack([tone(RATE_HZ, 1.0)] * 12), RATE_HZ)
    np.testing.assert_allclose(read(path).samples, tone(RATE_HZ, 1.0), atol=1e-3)


def test_blocks_join_to_the_whole(tmp_path: Path) -> None:
    """Blocks have the length asked for, the last one less, and are together what read gives."""
    path = encode(tmp_path / "voice.ogg", tone(48000), 48000, "libopus")
    parts = list(blocks(path, block_s=0.7))
    assert [len(part) for part in parts] == [11200] * 4 + [3200]
    np.testing.assert_array_equal(np.concatenate(parts), read(path).samples)


def test_blocks_at_another_rate(tmp_path: Path) -> None:
    """The rate is the caller's choice."""
    path = write_pcm(tmp_path / "tone.wav", tone(44100)[None], 44100)
    assert sum(map(len, blocks(path, rate_hz=8000))) == pytest.approx(8000 * SECONDS, abs=20)


@pytest.mark.parametrize(("rate_hz", "block_s"), [(0, 1.0), (16000, 0.0), (16000, float("nan")), (16000, float("inf"))])
def test_impossible_blocks_are_our_own_mistake(tmp_path: Path, rate_hz: int, block_s: float) -> None:
    """Arguments that make no sense are a ValueError, not the user's fault."""
    path = write_pcm(tmp_path / "tone.wav", tone(RATE_HZ)[None], RATE_HZ)
    with pytest.raises(ValueError, match="above 0"):
        next(blocks(path, rate_hz, block_s))


def test_a_long_recording_needs_no_more_memory_than_a_short_one(tmp_path: Path) -> None:
    """Decoding a quarter of an hour block by block keeps to a few megabytes (as a whole it would take 14)."""
    path, rate_hz = tmp_path / "long.wav", 4000
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(np.round(tone(rate_hz, 60.0) * 32767).astype("<i2").tobytes() * 15)
    next(blocks(path, rate_hz))  # what loading the library takes is not counted
    tracemalloc.start()
    n_samples = sum(len(block) for block in blocks(path, rate_hz))
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert n_samples == 900 * rate_hz
    assert peak_bytes < 6e6  # 3.1 MB; PyAV 14.0 itself loses 80 bytes a frame


def test_nan_and_infinite_samples_are_made_finite(tmp_path: Path) -> None:
    """A float wav may hold anything; what is handed out is finite."""
    path = encode(tmp_path / "odd.wav", tone(RATE_HZ, 1.0), RATE_HZ, "pcm_f32le")
    raw = bytearray(path.read_bytes())
    raw[-400:] = np.array([np.nan, np.inf, -np.inf, 0.25] * 25, "<f4").tobytes()
    path.write_bytes(raw)
    samples = read(path).samples
    assert np.isfinite(samples).all()
    assert np.abs(samples).max() == 1.0


# Damage -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "codec"),
    [("cut.wav", "pcm_s16le"), ("cut.mp3", "libmp3lame"), ("cut.flac", "flac"), ("cut.webm", "libopus")],
)
def test_a_file_cut_short_gives_what_it_has(tmp_path: Path, name: str, codec: str) -> None:
    """Half a file gives about half the sound, and says that it was cut."""
    path = encode(tmp_path / name, tone(48000, 8.0), 48000, codec)
    raw = path.read_bytes()
    path.write_bytes(raw[: len(raw) // 2])
    sound = read(path)
    assert sound.truncated
    assert 2.0 < sound.seconds < 5.5


def test_damage_in_the_middle_is_skipped_and_told(tmp_path: Path) -> None:
    """Bad bytes lose a moment of the recording, not the rest."""
    path = encode(tmp_path / "bad.mp3", tone(44100, 8.0), 44100, "libmp3lame")
    raw = bytearray(path.read_bytes())
    third = len(raw) // 3
    raw[third : third + 4000] = np.random.default_rng(3).bytes(4000)
    path.write_bytes(raw)
    sound = read(path)
    assert sound.truncated
    assert sound.seconds > 6


def test_a_wav_from_a_pipe_is_whole(tmp_path: Path) -> None:
    """A recorder that could not go back to its header is not taken for a broken file."""
    path = write_pcm(tmp_path / "pipe.wav", tone(RATE_HZ)[None], RATE_HZ)
    raw = bytearray(path.read_bytes())
    raw[4:8] = raw[40:44] = b"\xff\xff\xff\xff"
    path.write_bytes(raw)
    sound = read(path)
    assert sound.seconds == pytest.approx(SECONDS)
    assert not sound.truncated


# Refusals -----------------------------------------------------------------------------------------------------------


def refusal(path: Path) -> str:
    """The one line with which path is refused."""
    with pytest.raises(CoachError) as caught:
        read(path)
    message = str(caught.value)
    assert message.startswith(f"{path}: ")
    assert ";" in message  # what is wrong; what to do
    assert "\n" not in message
    return message


def test_a_missing_file(tmp_path: Path) -> None:
    """The name is checked first."""
    assert "there is no such file" in refusal(tmp_path / "none.wav")


def test_a_folder(tmp_path: Path) -> None:
    """A folder is not a recording."""
    assert "is a folder" in refusal(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_does_not_hang(tmp_path: Path) -> None:
    """A named pipe is refused instead of waited for."""
    os.mkfifo(tmp_path / "pipe.wav")
    assert "not a plain file" in refusal(tmp_path / "pipe.wav")


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that may not be read says so."""

    def deny(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = write_pcm(tmp_path / "tone.wav", tone(RATE_HZ)[None], RATE_HZ)
    monkeypatch.setattr(Path, "open", deny)
    assert "no permission" in refusal(path)


def test_a_name_no_system_takes(tmp_path: Path) -> None:
    """A name that is too long is an error of the user's kind."""
    assert "cannot be opened" in refusal(tmp_path / ("x" * 5000))


def test_an_empty_file(tmp_path: Path) -> None:
    """Nothing at all is told from something unreadable."""
    (tmp_path / "empty.wav").touch()
    assert "is empty (0 bytes)" in refusal(tmp_path / "empty.wav")


@pytest.mark.parametrize("name", ["notes.txt", "notes.wav", "notes.mp3"])
def test_text_is_no_recording(tmp_path: Path, name: str) -> None:
    """The content decides, not the name."""
    (tmp_path / name).write_text("Dear club, the show is on Saturday.\n" * 20)
    message = refusal(tmp_path / name)
    assert "is not a recording that can be read" in message or "text but no sound" in message


def test_random_bytes_are_no_recording(tmp_path: Path) -> None:
    """Noise under a sound's name ends in one line."""
    (tmp_path / "junk.mp3").write_bytes(np.random.default_rng(4).bytes(50_000))
    refusal(tmp_path / "junk.mp3")


def test_a_playlist_reaches_for_nothing(tmp_path: Path) -> None:
    """A list of addresses is refused without asking the network."""
    (tmp_path / "list.m3u8").write_text("#EXTM3U\n#EXTINF:5,\nhttp://localhost:9/a.ts\n#EXT-X-ENDLIST\n")
    assert "is not a recording" in refusal(tmp_path / "list.m3u8")


def test_an_mp4_without_its_index(tmp_path: Path) -> None:
    """An m4a cut off before its end cannot be read at all, and the line says why."""
    path = encode(tmp_path / "cut.m4a", tone(44100), 44100, "aac")
    raw = path.read_bytes()
    path.write_bytes(raw[: len(raw) // 2])
    assert "broken off" in refusal(path)


def test_a_wav_without_samples(tmp_path: Path) -> None:
    """A header alone holds no sound."""
    assert "no sound that can be decoded" in refusal(write_pcm(tmp_path / "bare.wav", np.empty((1, 0)), RATE_HZ))


def test_a_film_without_sound(tmp_path: Path) -> None:
    """A video whose microphone was off is named as such."""
    path = tmp_path / "mute.mp4"
    with av.open(str(path), "w") as container:
        picture = container.add_stream("mpeg4", rate=5)
        picture.width, picture.height, picture.pix_fmt = 64, 48, "yuv420p"
        container.mux(picture.encode(av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="rgb24")))
        container.mux(picture.encode(None))
    assert "pictures or text but no sound" in refusal(path)


@pytest.mark.parametrize("level", [0.0, 2e-4, "offset"])
def test_silence_is_told(tmp_path: Path, level: float | str) -> None:
    """Zeros, a few last bits, and a constant offset are all nothing to hear."""
    samples = np.full(RATE_HZ, 0.1) if level == "offset" else tone(RATE_HZ, 1.0, float(level))
    path = write_pcm(tmp_path / "still.wav", samples[None], RATE_HZ)
    message = refusal(path)
    assert "nothing can be heard" in message
    assert "microphone" in message


def test_a_whisper_is_not_silence(tmp_path: Path) -> None:
    """A very soft recording, 60 dB down, is still read."""
    assert len(read(write_pcm(tmp_path / "soft.wav", tone(RATE_HZ, 1.0, 1e-3)[None], RATE_HZ)).samples) == RATE_HZ


def test_four_hours_are_refused_from_the_header(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A recording far too long is refused by its stated length, with nothing decoded."""
    path = tmp_path / "long.wav"
    write_pcm(path, np.zeros((1, 1)), 100)
    n_bytes = 4 * 3600 * 100 * 2
    raw = bytearray(path.read_bytes()[:44]) + bytes(n_bytes)
    raw[4:8], raw[40:44] = (n_bytes + 36).to_bytes(4, "little"), n_bytes.to_bytes(4, "little")
    path.write_bytes(raw)
    monkeypatch.setattr(reading._Source, "blocks", None)
    assert "is 4 h long; a rehearsal is minutes" in refusal(path)


def test_length_is_guarded_while_decoding(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the file does not tell its length, decoding stops at the limit."""
    path = encode(tmp_path / "raw.aac", tone(44100, 8.0), 44100, "aac")
    monkeypatch.setattr(reading, "MAX_S", 5.0)
    assert probe(path).seconds is None
    assert "more than 0 h" in refusal(path)


def test_nothing_is_printed(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """The libraries keep quiet, about bad files too."""
    path = encode(tmp_path / "bad.mp3", tone(44100), 44100, "libmp3lame")
    raw = path.read_bytes()
    capfd.readouterr()
    path.write_bytes(raw[: len(raw) // 3] + b"\x00\xff" * 500 + raw[len(raw) // 2 :])
    read(path)
    (tmp_path / "junk.m4a").write_bytes(b"\x00\x00\x00\x20ftypM4A " + bytes(500))
    refusal(tmp_path / "junk.m4a")
    assert capfd.readouterr() == ("", "")


def test_odd_names_are_only_names(tmp_path: Path) -> None:
    """Colons, percent signs and question marks in a name mean nothing."""
    path = write_pcm(tmp_path / "take 1: 50%41?#.wav", tone(RATE_HZ)[None], RATE_HZ)
    assert read(path).seconds == pytest.approx(SECONDS)


def test_blocks_of_a_changing_layout_stay_in_order() -> None:
    """Where the number of channels changes, the block ends, and nothing is lost or moved."""
    pieces = [np.zeros((1, 5), np.float32), np.ones((2, 3), np.float32), np.full((2, 9), 2, np.float32)]
    got = list(reading._regroup(iter(pieces), 4))
    assert [part.shape for part in got] == [(1, 4), (1, 1), (2, 4), (2, 4), (2, 4)]
    assert all(before.max() <= after.min() or len(before) == len(after) for before, after in pairwise(got))
    np.testing.assert_array_equal(np.concatenate([part[0] for part in got]), [0] * 5 + [1] * 3 + [2] * 9)
