"""Sums planned events into stems on the accelerator."""
import numpy as np
import torch

from effects import minimum_phase, shaped_magnitude
from planning import BUZZ, CLICK, FIELDS, HISS, RATE, RESONANCE, STEMS, SYNTHETIC, TONE, TONE_ROOT, VARIANTS
from sample_pack import read_sounds

BLOCK = 2048
FADE = 600                                       # samples over which a choked sound dies: 14 ms


def synthetic_sounds(random):
    """Wire buzz, beater clicks, drum resonances, bright wires and musical tones as noise bursts and damped tones; (sounds in the order of their kinds)."""
    sounds = {BUZZ: [], CLICK: [], RESONANCE: [], HISS: [], TONE: []}
    for i in range(SYNTHETIC):
        n = int(random.uniform(0.08, 0.4) * RATE)
        time = np.arange(n) / RATE
        noise = np.fft.rfft(random.normal(size=n))
        f = np.fft.rfftfreq(n, 1 / RATE)
        low, high = random.uniform(800, 3000), random.uniform(5000, 14000)
        noise *= 1 / (1 + (low / np.maximum(f, 1)) ** 4) / (1 + (f / high) ** 4)
        attack = random.uniform(0.004, 0.02)
        sounds[BUZZ].append(np.fft.irfft(noise, n) * (1 - np.exp(-time / attack)) * np.exp(-time / random.uniform(0.02, 0.12)))
        n = int(random.uniform(0.004, 0.03) * RATE)
        time = np.arange(n) / RATE
        noise = np.fft.rfft(random.normal(size=n))
        f = np.fft.rfftfreq(n, 1 / RATE)
        low, high = random.uniform(700, 5000), random.uniform(4000, 15000)
        noise *= 1 / (1 + (low / np.maximum(f, 1)) ** 4) / (1 + (f / high) ** 4)
        sounds[CLICK].append(np.fft.irfft(noise, n) * np.exp(-time / random.uniform(0.001, 0.006)))
        n = int(random.uniform(0.3, 1.0) * RATE)
        time = np.arange(n) / RATE
        tone = sum(random.uniform(.2, 1) * np.sin(2 * np.pi * random.uniform(60, 400) * time + random.uniform(0, 6)) for _ in range(random.integers(1, 4)))
        sounds[RESONANCE].append(tone * (1 - np.exp(-time / random.uniform(0.008, 0.04))) * np.exp(-time / random.uniform(0.08, 0.3)))
        n = int(random.uniform(0.1, 0.5) * RATE)
        time = np.arange(n) / RATE
        noise = np.fft.rfft(random.normal(size=n))
        f = np.fft.rfftfreq(n, 1 / RATE)
        low, high = random.uniform(2000, 7000), random.uniform(9000, 20000)
        noise *= 1 / (1 + (low / np.maximum(f, 1)) ** 4) / (1 + (f / high) ** 4)
        burst = np.exp(-time / random.uniform(0.008, 0.03)) + random.uniform(0.05, 0.6) * np.exp(-time / random.uniform(0.04, 0.15))
        sounds[HISS].append(np.fft.irfft(noise, n) * (1 - np.exp(-time / random.uniform(0.0003, 0.004))) * burst)
        sounds[TONE].append(_tone(random, 440 * 2 ** ((TONE_ROOT + i - 69) / 12)))
    result = [s for kind in (BUZZ, CLICK, RESONANCE, HISS, TONE) for s in sounds[kind]]
    return [(s / np.abs(s).max()).astype(np.float32) for s in result]


def _tone(random, hertz):
    """A plucked or held note of 1.8 s with a few harmonics: what a bass or an organ makes beside drums."""
    time = np.arange(int(1.8 * RATE)) / RATE
    held, fall = random.random() < 0.4, random.uniform(0.3, 2.0)
    decay = 9.0 if held else random.uniform(0.1, 0.9)
    tone = np.zeros(len(time))
    for harmonic in range(1, random.integers(2, 13)):
        if harmonic * hertz < 9000:
            tone += harmonic ** -fall * random.uniform(0.4, 1) * np.sin(2 * np.pi * harmonic * hertz * time + random.uniform(0, 6)) * np.exp(-time / decay * harmonic ** 0.3)
    return tone * (1 - np.exp(-time / random.uniform(0.001, 0.02)))


class Bank:
    """All strokes on the accelerator: recorded ones, synthetic ones, and each in several colours (VARIANTS)."""

    def __init__(self, path, device, seed=1, variants=VARIANTS):
        sound, start, self.tables = read_sounds(path)
        random = np.random.default_rng(seed)
        extra = synthetic_sounds(random)
        start = np.concatenate([start, start[-1] + np.cumsum([len(s) for s in extra])])
        flat = torch.from_numpy(np.concatenate([sound] + extra + [np.zeros(8, np.float32)])).to(device)
        generator = torch.Generator(device=device).manual_seed(seed)
        self.sounds = torch.zeros((variants, len(flat)), device=device)
        self.sounds[0] = flat
        for variant in range(1, variants):
            self._colour(variant, flat, start, generator)
        self.start = torch.from_numpy(start[:-1].astype(np.int64)).to(device)
        self.length = torch.from_numpy(np.diff(start).astype(np.int64)).to(device)
        self.stride = len(flat)
        self.flat = self.sounds.reshape(-1)

    def _colour(self, variant, flat, start, generator):
        """Each sound through its own gentle minimum-phase filter; the last variant is dull, for soft strokes."""
        order = np.argsort(np.diff(start))
        for group in np.array_split(order, max(1, len(order) // 48)):
            longest = int(np.diff(start)[group].max())
            size = 1 << int(np.ceil(np.log2(longest + 2048)))
            batch = torch.zeros((len(group), size), device=flat.device)
            for row, i in enumerate(group):
                batch[row, :start[i + 1] - start[i]] = flat[start[i]:start[i + 1]]
            tilt = -10.0 if variant == VARIANTS - 1 else 0.0
            magnitude = shaped_magnitude(len(group), 4.0, generator, flat.device, high_shelf=tilt)
            response = torch.fft.rfft(minimum_phase(magnitude), n=size)
            shaped = torch.fft.irfft(torch.fft.rfft(batch) * response, n=size)
            shaped /= shaped.abs().amax(1, keepdim=True).clamp_min(1e-6)
            for row, i in enumerate(group):
                self.sounds[variant, start[i]:start[i + 1]] = shaped[row, :start[i + 1] - start[i]]


def _sum_blocks(flat, out, base, length, k0, rate, gain, stop, damp, target, limit):
    """Adds one block of each row's sound to `out`: row r reads flat[base + k*rate] for k = k0..k0+BLOCK."""
    k = k0[:, None] + torch.arange(BLOCK, device=flat.device)[None]
    place = k * rate[:, None]
    whole = place.floor()
    i = whole.long()
    inside = (i + 1 < length[:, None]) & (k >= limit[:, 0:1]) & (k < limit[:, 1:2])
    at = (base[:, None] + torch.where(inside, i, 0))
    a = flat[at]
    value = a + (flat[at + 1] - a) * (place - whole)
    envelope = torch.exp(-damp[:, None] * k) * ((stop[:, None] - k) / FADE).clamp(0, 1) * gain[:, None]
    value = torch.where(inside, value * envelope, 0)
    out.index_add_(0, torch.where(inside, target[:, None] + k, 0).reshape(-1), value.reshape(-1))


class Renderer:
    """Turns flattened events of many clips into a tensor [clips, STEMS, samples]."""

    def __init__(self, bank, compiled=False, chunk=8192):
        self.bank, self.chunk, self.sum_blocks = bank, chunk, _sum_blocks
        self.compiled = compiled
        if compiled:
            self.sum_blocks = torch.compile(_sum_blocks, dynamic=False)

    @torch.no_grad()
    def render(self, events, clip_of, clips, samples):
        """`events`: arrays by FIELDS; `clip_of`: which clip each belongs to. Positions before a clip's start are cut off."""
        device = self.bank.flat.device
        e = {f: torch.from_numpy(np.ascontiguousarray(events[f])).to(device, non_blocking=True) for f in FIELDS}
        clip_of = torch.from_numpy(clip_of).to(device)
        sound, start, variant = e["sound"].long(), e["start"].long(), e["variant"].long()
        length = self.bank.length[sound]
        stop = (e["stop"].long() - start + FADE)
        first = (-start).clamp_min(0)
        last = torch.minimum(torch.minimum(((length - 1) / e["rate"]).long(), samples - start), stop)
        blocks = ((last - first).clamp_min(0) + BLOCK - 1) // BLOCK
        row = torch.repeat_interleave(torch.arange(len(sound), device=device), blocks)
        begin = torch.cumsum(blocks, 0) - blocks
        k0 = first[row] + (torch.arange(len(row), device=device) - begin[row]) * BLOCK
        base = (variant * self.bank.stride + self.bank.start[sound])[row]
        target = ((clip_of.long() * STEMS + e["stem"].long()) * samples + start)[row]
        limit = torch.stack([first, last], 1)[row]
        columns = [base, length[row], k0, e["rate"][row], e["gain"][row], stop[row].float(), e["damp"][row] / RATE, target, limit]
        out = torch.zeros(clips * STEMS * samples, device=device)
        for a in range(0, len(row), self.chunk):
            part = [c[a:a + self.chunk] for c in columns]
            if self.compiled and len(part[0]) < self.chunk:
                part = [torch.cat([c, c[:1].expand(self.chunk - len(c), *c.shape[1:])]) for c in part]
                part[4] = part[4].clone()
                part[4][len(row) - a:] = 0
            self.sum_blocks(self.bank.flat, out, *part)
        return out.reshape(clips, STEMS, samples)
