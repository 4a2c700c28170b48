"""What rooms, microphones, desks, tapes and codecs do to a kit's sound; every clip draws its own. All on the accelerator.

Each effect is causal (minimum-phase filters, one-sided envelopes), so no sound moves ahead of its stroke; only the codec loss smears
a few milliseconds, as codecs do.
"""
import math

import torch

RATE = 44100
GRID = 4096


def _normal(generator, device, *shape):
    return torch.randn(shape, generator=generator, device=device)


def _uniform(generator, device, low, high, *shape):
    return low + (high - low) * torch.rand(shape, generator=generator, device=device)


def shaped_magnitude(rows, spread_db, generator, device, high_shelf=0.0):
    """[rows, GRID/2+1] magnitudes: eight control points over log frequency, normally spread, joined smoothly."""
    points = _normal(generator, device, rows, 1, 8) * spread_db
    f = torch.linspace(0, RATE / 2, GRID // 2 + 1, device=device).clamp_min(20)
    place = (torch.log2(f / 40) / math.log2(18000 / 40) * 7).clamp(0, 7)
    i = place.floor().long().clamp_max(6)
    share = place - i
    share = share * share * (3 - 2 * share)
    db = points[:, 0, i] * (1 - share) + points[:, 0, i + 1] * share
    db = db + high_shelf / (1 + (2500 / f) ** 2)
    return 10 ** (db / 20)


def low_pass(rows, cutoff, order, device):
    f = torch.linspace(0, RATE / 2, GRID // 2 + 1, device=device)
    return 1 / torch.sqrt(1 + (f[None] / cutoff[:, None]) ** (2 * order))


def high_pass(rows, cutoff, order, device):
    f = torch.linspace(0, RATE / 2, GRID // 2 + 1, device=device).clamp_min(1)
    return 1 / torch.sqrt(1 + (cutoff[:, None] / f[None]) ** (2 * order))


def minimum_phase(magnitude):
    """The causal filter [rows, GRID/2] with this magnitude and least delay (folded cepstrum; Oppenheim & Schafer)."""
    cepstrum = torch.fft.irfft(torch.log(magnitude.clamp_min(1e-4)))
    half = GRID // 2
    folded = cepstrum.clone()
    folded[:, 1:half] *= 2
    folded[:, half + 1:] = 0
    response = torch.exp(torch.fft.rfft(folded))
    filter_ = torch.fft.irfft(response)[:, :half]
    fade = torch.ones(half, device=magnitude.device)
    fade[half // 2:] = torch.cos(torch.linspace(0, math.pi / 2, half // 2, device=magnitude.device)) ** 2
    return filter_ * fade


def rooms(rows, generator, device):
    """[rows, n] room responses without the direct sound: a few early reflections, then noise that decays faster at high frequencies."""
    n = 40000
    time = torch.arange(n, device=device) / RATE
    reverb = 10 ** _uniform(generator, device, -0.9, 0.0, rows, 1)          # 0.13 .. 1 s
    gap = _uniform(generator, device, 0.001, 0.025, rows, 1)
    noise = _normal(generator, device, rows, n)
    # Three bands by one-pole differences would blur time; a short moving average splits low from high well enough.
    low = torch.nn.functional.avg_pool1d(noise[:, None], 9, 1, 4)[:, 0]
    high = noise - low
    bright = _uniform(generator, device, 0.1, 1.0, rows, 1)
    decay = torch.exp(-6.9 * time / reverb)
    tail = low * 2.5 * decay + high * bright * torch.exp(-6.9 * time / (reverb * _uniform(generator, device, 0.25, 0.8, rows, 1)))
    tail = tail * (time > gap) * (1 - torch.exp(-(time - gap).clamp_min(0) / _uniform(generator, device, 0.001, 0.02, rows, 1)))
    tail = tail / tail.square().sum(1, keepdim=True).sqrt()
    early = torch.zeros(rows, n, device=device)
    taps = 10
    at = (_uniform(generator, device, 0.0008, 0.045, rows, taps) * RATE).long()
    size = _normal(generator, device, rows, taps) * torch.exp(-at / RATE / 0.02) * 0.5
    early.scatter_add_(1, at, size)
    return tail + early * _uniform(generator, device, 0, 1.2, rows, 1)


def compress(x, generator):
    """A feed-forward compressor: mean square over the past (0.1 to 0.4 s release), then gain; [rows, samples]."""
    rows, n = x.shape
    hop = 32
    level = torch.nn.functional.avg_pool1d(x.square()[:, None], hop, hop)[:, 0]
    m = level.shape[1]
    release = _uniform(generator, x.device, 0.02, 0.25, rows, 1)
    time = torch.arange(m, device=x.device)[None] * hop / RATE
    kernel = torch.exp(-time / release) * (1 - torch.exp(-(time + 1e-4) / 0.003)) / (release * RATE / hop)
    size = 1 << (2 * m - 1).bit_length()
    level = torch.fft.irfft(torch.fft.rfft(level, n=size) * torch.fft.rfft(kernel, n=size), n=size)[:, :m].clamp_min(1e-9)
    mean = level.mean(1, keepdim=True)
    threshold = mean * 10 ** (_uniform(generator, x.device, -10, 6, rows, 1) / 10)
    slope = _uniform(generator, x.device, 0.2, 0.85, rows, 1)
    gain = (level / threshold).clamp_min(1) ** (-slope / 2)
    # The level at a hop's start must not know the hop itself: shift by one.
    gain = torch.cat([gain[:, :1], gain[:, :-1]], 1)
    return x * torch.nn.functional.interpolate(gain[:, None], size=n, mode="linear", align_corners=False)[:, 0]


def codec_loss(x, generator):
    """Coarse spectral quantisation in bands, as lossy codecs do: small coefficients vanish; [rows, samples]."""
    rows, n = x.shape
    size = 512
    window = torch.hann_window(size, device=x.device).sqrt()
    spectrum = torch.stft(x, size, size // 2, window=window, return_complex=True, pad_mode="constant")
    magnitude = spectrum.abs()
    band = torch.nn.functional.avg_pool1d(magnitude.transpose(1, 2), 17, 1, 8, count_include_pad=False).transpose(1, 2)
    step = band * 10 ** (_uniform(generator, x.device, -0.9, 0.0, rows, 1, 1))
    kept = torch.round(magnitude / step.clamp_min(1e-9)) * step
    bins = torch.arange(size // 2 + 1, device=x.device)[None, :, None]
    cutoff = _uniform(generator, x.device, 9000, 20000, rows, 1, 1) / RATE * size
    kept = torch.where(bins > cutoff, 0, kept)
    return torch.istft(spectrum * (kept / magnitude.clamp_min(1e-9)), size, size // 2, window=window, length=n)


def noise_floor(rows, n, generator, device):
    """Hiss, rumble and hum; unit power."""
    spectrum = torch.fft.rfft(_normal(generator, device, rows, n))
    f = torch.linspace(0, RATE / 2, spectrum.shape[1], device=device).clamp_min(20)
    slope = _uniform(generator, device, 0, 1.0, rows, 1)
    noise = torch.fft.irfft(spectrum * (1000 / f[None]) ** slope, n=n)
    noise = noise / noise.square().mean(1, keepdim=True).sqrt()
    hum = torch.sin(2 * math.pi * 50 * torch.arange(n, device=device) / RATE)[None]
    return noise + hum * (_uniform(generator, device, 0, 1, rows, 1) < 0.1) * _uniform(generator, device, 0, 2, rows, 1)


@torch.no_grad()
def mix(stems, generator, plain=False):
    """Stems [clips, S, n] to sound [clips, n] at a level around -20 dBFS (root mean square).

    `plain`: only summed and levelled.
    """
    clips, count, n = stems.shape
    device = stems.device
    if plain:
        return level(stems.sum(1), torch.full((clips, 1), -20.0, device=device))
    def chance(share, *shape):
        return torch.rand(shape or (clips, 1), generator=generator, device=device) < share
    # Drive single stems (samples distorted before the desk).
    drive = 10 ** _uniform(generator, device, 0, 1.0, clips, count, 1)
    hot = chance(0.12, clips, count, 1)
    stems = torch.where(hot, torch.tanh(stems * drive) / drive.sqrt(), stems)
    clean = chance(0.12, clips, 1)
    size = 1 << (n + 30000 - 1).bit_length()
    spread = torch.where(clean, 0.5, torch.where(chance(0.2, clips, count), 1.7, 1.0))
    shape = shaped_magnitude(clips * count, 4.0, generator, device).reshape(clips, count, -1) ** spread.expand(clips, count)[:, :, None]
    filters = minimum_phase(shape.reshape(clips * count, -1))
    wet = rooms(clips, generator, device)
    # One clip in six is heard by microphones of the room: more of its sound than of the kit's own.
    send = torch.where(chance(0.16), _uniform(generator, device, -2, 9, clips, 1), _uniform(generator, device, -44, -2, clips, 1))
    send = 10 ** (send / 20) * (~(clean | chance(0.2)))
    sends = send * 10 ** (_normal(generator, device, clips, count) * 5 / 20)
    # A second, farther microphone hears each piece again a few milliseconds later.
    far = 10 ** (_uniform(generator, device, -30, -2, clips, count) / 20) * (chance(0.5) & ~clean)
    late = _uniform(generator, device, 0.0005, 0.009, clips, count)
    turn = -2j * math.pi * torch.linspace(0, RATE / 2, size // 2 + 1, device=device)
    spectrum = torch.zeros(clips, size // 2 + 1, dtype=torch.complex64, device=device)
    room = torch.fft.rfft(wet, n=size)
    for s in range(count):
        response = torch.fft.rfft(filters.reshape(clips, count, -1)[:, s], n=size)
        spectrum += torch.fft.rfft(stems[:, s], n=size) * response * (1 + sends[:, s:s + 1] * room + far[:, s:s + 1] * torch.exp(turn * late[:, s:s + 1]))
    # A room response of 40000 samples ends before the transform wraps around for clips of 5 s; for others the wrap is diffuse sound.
    x = torch.fft.irfft(spectrum, n=size)[:, :n]
    x = level(x, torch.full((clips, 1), -18.0, device=device))
    x = torch.where(chance(0.5) & ~clean, level(compress(x, generator), torch.full((clips, 1), -18.0, device=device)), x)
    drive = 10 ** _uniform(generator, device, 0, 1.1, clips, 1)
    x = torch.where(chance(0.25) & ~clean, torch.tanh(x * drive) / drive, x)
    x = level(x, torch.full((clips, 1), -20.0, device=device))
    floor = 10 ** (_uniform(generator, device, -95, -42, clips, 1) / 20)
    x = x + noise_floor(clips, n, generator, device) * floor
    # Microphone and tape: one colour over all, narrow bands.
    shape = shaped_magnitude(clips, 3.5, generator, device) ** torch.where(clean, 0.3, 1.0)
    narrow = chance(0.25, clips)
    shape = shape * torch.where(narrow[:, None], low_pass(clips, 10 ** _uniform(generator, device, 3.75, 4.25, clips), 3, device), 1)
    # Lossy codecs cut everything above some 11 to 18 kHz.
    cut = chance(0.4, clips)
    shape = shape * torch.where(cut[:, None], low_pass(clips, 10 ** _uniform(generator, device, 4.04, 4.26, clips), 20, device).clamp_min(1e-3), 1)
    thin = chance(0.2, clips)
    shape = shape * torch.where(thin[:, None], high_pass(clips, 10 ** _uniform(generator, device, 1.5, 2.3, clips), 2, device), 1)
    x = torch.fft.irfft(torch.fft.rfft(x, n=size) * torch.fft.rfft(minimum_phase(shape), n=size), n=size)[:, :n]
    x = torch.where(chance(0.12) & ~clean, codec_loss(x, generator), x)
    silent = stems.abs().amax((1, 2))[:, None] < 1e-5
    target = -20 + 5 * _normal(generator, device, clips, 1)
    target = torch.where(silent, _uniform(generator, device, -70, -30, clips, 1), target)
    return level(x, target).clamp(-1, 1)


def level(x, decibels):
    """x at a root mean square of `decibels` under full scale; silence stays silence."""
    rms = x.square().mean(1, keepdim=True).sqrt()
    return x * torch.where(rms > 1e-7, 10 ** (decibels / 20) / rms.clamp_min(1e-7), 0)
