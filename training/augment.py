"""Rooms, noise, bands and levels for a batch of windows, on whatever device the samples are on."""

from __future__ import annotations

import torch
from network import RATE_HZ, next_fast
from torch import Tensor

SHARE_ROOM, SHARE_NOISE, SHARE_PHONE, SHARE_DULL = 0.35, 0.6, 0.12, 0.12


def roughen(sound: Tensor, lengths: Tensor, babble: Tensor, rng: torch.Generator) -> Tensor:
    """(batch, n) of speech -> the same in random rooms, noise, bands and at random levels.

    Args:
        sound: float32, -1..1, zeros after each length.
        lengths: samples of each window.
        babble: (batch, n) of several people talking, for a part of the windows' noise.
        rng: on the same device.
    """
    device, batch, n = sound.device, *sound.shape

    def draw(low: float = 0.0, high: float = 1.0) -> Tensor:
        return torch.rand(batch, 1, device=device, generator=rng) * (high - low) + low

    size = next_fast(n + RATE_HZ // 2)
    hertz = torch.fft.rfftfreq(size, 1 / RATE_HZ).to(device)[None]
    inside = torch.arange(n, device=device)[None] < lengths[:, None]

    echo_s = draw(0.1, 0.5)
    at = torch.arange(RATE_HZ // 2, device=device)[None] / RATE_HZ
    echo = torch.randn(batch, at.shape[1], device=device, generator=rng) * 10 ** (-3 * at / echo_s) * (at < echo_s)
    echo = echo / echo.norm(dim=1, keepdim=True) * draw(0.1, 0.7) * (draw() < SHARE_ROOM)
    echo[:, 0] = 1.0
    spectrum = torch.fft.rfft(sound, size) * torch.fft.rfft(echo, size)
    wet = torch.fft.irfft(spectrum, size)[:, :n] * inside
    level = ((wet**2).sum(1, keepdim=True) / inside.sum(1, keepdim=True)).sqrt().clamp(min=1e-5)

    kind = torch.randint(0, 4, (batch, 1), device=device, generator=rng)  # white, pink, brown, babble
    white = torch.fft.rfft(torch.randn(batch, n, device=device, generator=rng), size)
    slope = kind.clamp(max=2).float() / 2
    noise = torch.fft.irfft(white / hertz.clamp(min=40.0) ** slope, size)[:, :n]
    noise = torch.where(kind == 3, babble, noise)
    noise = noise / noise.std(dim=1, keepdim=True).clamp(min=1e-6)
    loudness = 10 ** (-draw(8.0, 32.0) / 20) * (draw() < SHARE_NOISE)
    noisy = (wet + noise * level * loudness) * inside

    phone = (draw() < SHARE_PHONE).float()
    low, high = 300.0 * phone, 3400.0 * phone + 8000.0 * (1 - phone)
    dull = (draw() < SHARE_DULL).float()
    high = torch.minimum(high, dull * draw(3500.0, 7000.0) + 8001.0 * (1 - dull))
    kept = torch.sigmoid((hertz - low) / 40.0) * torch.sigmoid((high - hertz) / 80.0)
    kept = torch.where((phone + dull) > 0, kept, torch.ones_like(kept))
    out = torch.fft.irfft(torch.fft.rfft(noisy, size) * kept, size)[:, :n] * inside
    peak = out.abs().amax(1, keepdim=True).clamp(min=1e-5)
    out = out / peak * 10 ** (draw(-32.0, -1.0) / 20)
    return torch.round(out * 32767) / 32768
