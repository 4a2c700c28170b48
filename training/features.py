"""The model's input: two logarithmic mel pictures of mono sound at 44,100 samples a second.

Exactly (the engine computes the same; test-vector.json holds numbers to compare):
- the whole recording is first scaled so that its root mean square is -20 dBFS (0.1);
- picture 0, `broad`: the sound itself, bands from 30 to 17,000 Hz; frame t looks at samples centred on 441 t;
- picture 1, `low`: the sound at a third of the rate, bands from 30 to 6,300 Hz; frame t is centred on its sample 147 t.
  Its sample j is the sum over k = -48..48 of h[k] x[3 j + k], h[k] = sinc(2 c k) (0.5 + 0.5 cos(pi k / 49)) scaled to a sum of 1,
  c = 7300 / 44100, sinc(u) = sin(pi u) / (pi u);
- sound beyond either end is zero, in both;
- window: periodic Hann of N = 1024, w[i] = 0.5 - 0.5 cos(2 pi i / N), first sample N/2 before the frame's centre (23 ms; 70 ms);
- magnitude of the discrete Fourier transform times 2 / sum(w): a full-scale sine reads 1;
- a floor under it as white noise of FLOOR (root mean square) would leave it: sqrt(m^2 + 6 FLOOR^2 / N), for `low` with sum(h^2) of
  that power. Learning draws noise of its own and has none (`Features(floor=0)`);
- 84 triangular bands: 86 points p equally spaced on mel(f) = 2595 log10(1 + f / 700) over the picture's range; band b has centre
  c = p[b+1] and reaches from min(p[b], c - d) to max(p[b+2], c + d), d = rate / N (one bin), flanks straight in hertz, weights
  scaled to a sum of 1;
- value = 0.25 ln(1 + 10000 m), m the weighted mean magnitude;
- frames = samples / 441, rounded down.
"""
import math

import torch

RATE, HOP, BANDS, SIZE = 44100, 441, 84, 1024
THIRD, REACH, CUTOFF = 3, 48, 7300.0
RANGES = ((RATE, 17000.0), (RATE // THIRD, 6300.0))
FLOOR = 3.981e-4   # -68 dBFS where the sound has -20: the middle of what effects.py draws


def mel_weights(rate, high, lowest=30.0, size=SIZE, bands=BANDS):
    """[bins, bands] in float64."""
    def mel(f):
        return 2595 * math.log10(1 + f / 700)
    low, top = mel(lowest), mel(high)
    points = [700 * (10 ** ((low + (top - low) * i / (bands + 1)) / 2595) - 1) for i in range(bands + 2)]
    f = torch.arange(size // 2 + 1, dtype=torch.float64) * rate / size
    weights = torch.zeros(size // 2 + 1, bands, dtype=torch.float64)
    for b in range(bands):
        centre = points[b + 1]
        left, right = min(points[b], centre - rate / size), max(points[b + 2], centre + rate / size)
        flank = torch.minimum((f - left) / (centre - left), (right - f) / (right - centre)).clamp_min(0)
        weights[:, b] = flank / flank.sum()
    return weights


def third_filter():
    """h[-REACH..REACH] in float64."""
    k = torch.arange(-REACH, REACH + 1, dtype=torch.float64)
    u = 2 * CUTOFF / RATE * k * math.pi
    h = torch.where(k == 0, torch.ones_like(u), torch.sin(u) / torch.where(k == 0, torch.ones_like(u), u))
    h = h * (0.5 + 0.5 * torch.cos(math.pi * k / (REACH + 1)))
    return h / h.sum()


class Features(torch.nn.Module):
    """sound [clips, n] -> [clips, 2, n // 441, BANDS]."""

    def __init__(self, floor=FLOOR):
        super().__init__()
        for i, (rate, high) in enumerate(RANGES):
            self.register_buffer(f"mel{i}", mel_weights(rate, high).float())
        self.register_buffer("window", torch.hann_window(SIZE, periodic=True))
        self.register_buffer("third", third_filter().float()[None, None])
        self.floors = [6 * floor ** 2 / SIZE * share for share in (1, float(third_filter().square().sum()))]

    @torch.no_grad()
    def forward(self, sound):
        frames = sound.shape[1] // HOP
        low = torch.nn.functional.conv1d(torch.nn.functional.pad(sound, (REACH, REACH))[:, None], self.third, stride=THIRD)[:, 0]
        pictures = []
        for i, (x, hop) in enumerate(((sound, HOP), (low, HOP // THIRD))):
            padded = torch.nn.functional.pad(x, (SIZE // 2, SIZE))
            cut = padded.unfold(1, SIZE, hop)[:, :frames]
            magnitude = torch.fft.rfft(cut * self.window).abs() * (2 / self.window.sum())
            magnitude = torch.sqrt(magnitude.square() + self.floors[i])
            pictures.append(0.25 * torch.log1p(10000 * (magnitude @ getattr(self, f"mel{i}"))))
        return torch.stack(pictures, 1)
