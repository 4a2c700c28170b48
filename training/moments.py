"""Where strokes may be, and what is seen there: the input of the comparer (comparer.py), to the last detail.

Exactly (the engine computes the same; comparer-vector.json holds numbers to compare):
- a *peak* is a column of a family's onset curve that is at least LEAST, at least its left and above its right neighbour;
- a column's strength is the largest peak in it; a *moment* is a column whose strength is above those of the two columns before it and
  at least those of the two behind it; its family is the peak's;
- for each family f, j(f) is the first column within two of the moment where the curve of f is largest;
- `curves` (63): logit of the five families at the five columns -2..2 (column by column), logit of the largest value of each of the 14
  pieces within two columns, velocity of all 19 channels, held to 0..1, in column j(family), place of each family, j - t + offset(j), in columns;
  logits of values held to 0.0001..0.9999, divided by 4;
- `hidden` (3 x 128): what the listener's last layer but one holds at columns -1, 0, 1;
- `pictures` (15 x 2 x 84): both pictures (features.py) at columns COLUMNS from the moment, broad before low;
- `fine` (24 x 24): a picture of the sound, scaled as in features.py, with a window of 256 samples, 24 bands from 100 to 17,000 Hz, 24
  columns 88 samples apart, the sixth centred on sample 441 t + round(441 offset(t, family)), the offset held to -2..2; else like `broad`;
- `gaps` (4): log2 of the time to the second and the next moment before, the next and the second behind, in tenths of a second, held to
  -4..4; 4 where there is none;
- beyond either end columns repeat the nearest one, sound is zero.
"""
import torch

from features import FLOOR, HOP, mel_weights
from pieces import FAMILY_OF

LEAST = 0.06
COLUMNS = (-8, -5, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 10, 14, 18)
SIZE, BANDS, FINE_HOP, FINE_COLUMNS, FINE_BEFORE = 256, 24, 88, 24, 5
WIDTHS = {"curves": 63, "hidden": 3 * 128, "pictures": len(COLUMNS) * 2 * 84, "fine": FINE_COLUMNS * BANDS, "gaps": 4}


def find(onset):
    """(strength [clips, frames], family): the strength is 0 where there is no moment. onset: [clips, frames, 19] from 0 to 1."""
    family = onset[:, :, :5]
    left = torch.nn.functional.pad(family, (0, 0, 1, 0))[:, :-1]
    right = torch.nn.functional.pad(family, (0, 0, 0, 1), value=-1.0)[:, 1:]
    peak = torch.where((family >= LEAST) & (family >= left) & (family > right), family, 0.0)
    strength, which = peak.max(2)
    around = torch.nn.functional.pad(strength, (2, 2))
    frames = strength.shape[1]
    before = torch.maximum(around[:, 0:frames], around[:, 1:frames + 1])
    behind = torch.maximum(around[:, 3:frames + 3], around[:, 4:frames + 4])
    return torch.where((strength > before) & (strength >= behind), strength, 0.0), which


def logit(p):
    p = p.clamp(1e-4, 1 - 1e-4)
    return torch.log(p / (1 - p))


class Views(torch.nn.Module):
    """What is seen at every moment of a batch of clips."""

    def __init__(self, floor=FLOOR, whole=1):
        """whole: rows are filled up to a multiple of this many moments (one shape serves many batches)."""
        super().__init__()
        self.whole = whole
        self.register_buffer("mel", mel_weights(44100, 17000.0, 100.0, SIZE, BANDS).float())
        self.register_buffer("window", torch.hann_window(SIZE, periodic=True))
        self.register_buffer("member", torch.tensor(list(range(5)) + FAMILY_OF))
        self.floor = 6 * floor ** 2 / SIZE

    def forward(self, sound, pictures, onset, velocity, offset, hidden, most=4096):
        """sound [clips, n] at -20 dBFS, pictures [clips, 2, frames, 84], curves [clips, frames, 19], hidden [clips, frames, 128].

        Returns {name: [clips, moments, WIDTHS[name]]}, columns [clips, moments], there [clips, moments] (0 where a clip has fewer).
        """
        strength, which = find(onset)
        clips, frames = strength.shape
        count = max(1, int((strength > 0).sum(1).max()))
        count = min(most, frames, -(-count // self.whole) * self.whole)
        column = torch.arange(frames, device=onset.device)
        # Moments first, in order of time.
        order = torch.where(strength > 0, column[None], frames + column[None]).sort(1).values[:, :count]
        there = order < frames
        t = torch.where(there, order, 0)
        clip = torch.arange(clips, device=onset.device)[:, None].expand_as(t)

        def at(curve, shift):
            return curve[clip, (t + shift).clamp(0, frames - 1)]
        five = torch.stack([at(onset, s) for s in range(-2, 3)], 2)                       # [clips, moments, 5, 19]
        best = five[:, :, :, :5].argmax(2)                                               # [clips, moments, 5]
        j = (t[:, :, None] + best - 2).clamp(0, frames - 1)
        channels = torch.arange(19, device=onset.device)
        loud = velocity[clip[:, :, None], j[:, :, self.member], channels].clamp(0, 1)
        place = (j - t[:, :, None]) + offset[clip[:, :, None], j, channels[:5]]
        curves = torch.cat([logit(five[:, :, :, :5]).flatten(2) / 4, logit(five[:, :, :, 5:].amax(2)) / 4, loud, place], 2)
        inner = torch.cat([at(hidden, s) for s in (-1, 0, 1)], 2)
        tall = pictures.permute(0, 2, 1, 3).flatten(2)                                   # [clips, frames, 168]
        seen = torch.cat([at(tall, s) for s in COLUMNS], 2)
        shift = offset[clip, t, which[clip, t]].clamp(-2, 2)
        fine = self.fine(sound, clip, HOP * t + torch.round(HOP * shift).long())
        gaps = self.gaps(t, there)
        views = {"curves": curves, "hidden": inner, "pictures": seen, "fine": fine, "gaps": gaps}
        return views, t, there

    def fine(self, sound, clip, centre):
        first = centre[:, :, None] + FINE_HOP * (torch.arange(FINE_COLUMNS, device=sound.device) - FINE_BEFORE) - SIZE // 2
        place = first[:, :, :, None] + torch.arange(SIZE, device=sound.device)
        inside = (place >= 0) & (place < sound.shape[1])
        cut = torch.where(inside, sound[clip[:, :, None, None], place.clamp(0, sound.shape[1] - 1)], 0.0)
        magnitude = torch.fft.rfft(cut * self.window).abs() * (2 / self.window.sum())
        magnitude = torch.sqrt(magnitude.square() + self.floor)
        return (0.25 * torch.log1p(10000 * (magnitude @ self.mel))).flatten(2)

    @staticmethod
    def gaps(t, there):
        result = []
        count = t.shape[1]
        for shift in (-2, -1, 1, 2):
            other = torch.arange(count, device=t.device) + shift
            held = other.clamp(0, count - 1)
            known = ((other >= 0) & (other < count))[None] & there[:, held] & there
            distance = (t[:, held] - t).abs().clamp_min(1) / 10.0
            result.append(torch.where(known, torch.log2(distance).clamp(-4, 4), 4.0))
        return torch.stack(result, 2)


def answers(hits, clip_of, t, there, within=0.03):
    """What was struck at each moment: {onset, weight, velocity [clips, moments, 19], place [clips, moments, 5]} and the share of hits that have no moment.

    hits [n, 4] as in planning.plan_clip; a hit belongs to the nearest moment of its clip.
    """
    device = t.device
    clips, count = t.shape
    hits = torch.as_tensor(hits, device=device)
    clip = torch.as_tensor(clip_of, device=device).long()
    result = {name: torch.zeros((clips, count, 19), device=device) for name in ("onset", "velocity")}
    result["weight"] = torch.ones((clips, count, 19), device=device)
    result["place"] = torch.zeros((clips, count, 5), device=device)
    inside = hits[:, 0] >= 0
    hits, clip = hits[inside], clip[inside]
    if not len(hits):
        return result, 0.0
    when = torch.where(there, t.double() * HOP, 1e12)
    distance = (when[clip] - hits[:, :1].double()).abs()
    least, nearest = distance.min(1)
    found = least <= within * 44100
    lost = 1 - float(found.float().mean())
    hits, clip, nearest = hits[found], clip[found], nearest[found]
    piece = hits[:, 1].long()
    family = torch.tensor(FAMILY_OF, device=device)[piece]
    faint = hits[:, 3] < 0.5
    place = (hits[:, 0] - t[clip, nearest] * HOP) / HOP
    # Softer strokes first, so that of two in one channel the loudest stays.
    order = torch.argsort(hits[:, 2] - 1000 * faint)
    clip, nearest, piece, family, faint, place, loud = (x[order] for x in (clip, nearest, piece, family, faint, place, hits[:, 2]))
    for column in (piece + 5, family):
        result["weight"][clip[faint], nearest[faint], column[faint]] = 0
        ok = ~faint
        result["weight"][clip[ok], nearest[ok], column[ok]] = 1
        result["onset"][clip[ok], nearest[ok], column[ok]] = 1
        result["velocity"][clip[ok], nearest[ok], column[ok]] = loud[ok] / 127
    ok = ~faint
    result["place"][clip[ok], nearest[ok], family[ok]] = place[ok].float()
    return result, lost
