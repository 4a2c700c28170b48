"""The model's input: two logarithmic mel pictures of mono sound at 44,100 samples a second.

Exactly (the engine computes the same; test-vector.npz holds numbers to compare):
- frame t looks at samples centred on 441 t; sound beyond either end is zero;
- window: periodic Hann, w[i] = 0.5 - 0.5 cos(2 pi i / N), first sample at 441 t - N/2, for N = 1024 and N = 4096;
- magnitude of the discrete Fourier transform times 2 / sum(w): a full-scale sine reads 1;
- 84 triangular bands: 86 points equally spaced on mel(f) = 2595 log10(1 + f / 700) from 30 to 17,000 Hz; band b has centre
  c = p[b+1] and reaches from min(p[b], c - d) to max(p[b+2], c + d), d = 44100 / N (one bin), straight flanks in hertz,
  weights scaled to a sum of 1;
- value = 0.25 ln(1 + 10000 m), m the weighted mean magnitude.
The whole recording is first scaled so that its root mean square is -20 dBFS.
"""
import math

import torch

RATE, HOP, BANDS = 44100, 441, 84
SIZES = (1024, 4096)


def mel_weights(size):
    """[bins, BANDS] in float64."""
    def mel(f):
        return 2595 * math.log10(1 + f / 700)
    low, high = mel(30.0), mel(17000.0)
    points = [700 * (10 ** ((low + (high - low) * i / (BANDS + 1)) / 2595) - 1) for i in range(BANDS + 2)]
    f = torch.arange(size // 2 + 1, dtype=torch.float64) * RATE / size
    weights = torch.zeros(size // 2 + 1, BANDS, dtype=torch.float64)
    for b in range(BANDS):
        centre = points[b + 1]
        left, right = min(points[b], centre - RATE / size), max(points[b + 2], centre + RATE / size)
        flank = torch.minimum((f - left) / (centre - left), (right - f) / (right - centre)).clamp_min(0)
        weights[:, b] = flank / flank.sum()
    return weights


class Features(torch.nn.Module):
    """sound [clips, n] -> [clips, 2, n // 441, BANDS]."""

    def __init__(self):
        super().__init__()
        for size in SIZES:
            self.register_buffer(f"mel{size}", mel_weights(size).float())
            self.register_buffer(f"window{size}", torch.hann_window(size, periodic=True))

    @torch.no_grad()
    def forward(self, sound):
        frames = sound.shape[1] // HOP
        pictures = []
        for size in SIZES:
            window = getattr(self, f"window{size}")
            padded = torch.nn.functional.pad(sound, (size // 2, size))
            cut = padded.unfold(1, size, HOP)[:, :frames]
            magnitude = torch.fft.rfft(cut * window).abs() * (2 / window.sum())
            pictures.append(0.25 * torch.log1p(10000 * magnitude @ getattr(self, f"mel{size}")))
        return torch.stack(pictures, 1)
