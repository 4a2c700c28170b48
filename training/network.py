"""The network: convolutions over a few frames and bands, then over time, then a look at the whole clip, then one output a channel.

Input [clips, 2, frames, 84]; output three tensors [clips, frames, 19]: logit of a stroke, velocity 0..1, offset in frames.
"""
import math

import torch
from torch import nn

from pieces import CHANNELS

OUTPUTS = len(CHANNELS)
METAL = torch.tensor([name in ("hat", "cymbal") or 3 <= i - 5 <= 10 for i, name in enumerate(CHANNELS)])


class Residual(nn.Module):
    def __init__(self, width, dilation, kernel=3):
        super().__init__()
        self.conv = nn.Conv1d(width, width, kernel, padding=dilation * (kernel - 1) // 2, dilation=dilation, bias=False)
        self.norm = nn.BatchNorm1d(width)

    def forward(self, h):
        return h + torch.relu(self.norm(self.conv(h)))


class Echo(nn.Module):
    """Every frame looks for its likes in the whole clip: a groove repeats its strokes, so one heard clearly explains its masked twins.

    Attention without positions, four heads (Vaswani et al., Attention Is All You Need, 2017). With `stride` it looks among the
    largest values of so many frames at a time, which a stroke outlasts: most of the cost is the comparing.
    """

    def __init__(self, width, heads=4, key=16, stride=1):
        super().__init__()
        self.heads, self.key, self.stride = heads, key, stride
        self.query, self.keys = nn.Linear(width, heads * key), nn.Linear(width, heads * key)
        self.value, self.out = nn.Linear(width, width), nn.Linear(width, width)
        nn.init.zeros_(self.out.weight)
        nn.init.zeros_(self.out.bias)

    def forward(self, h):
        x = h.transpose(1, 2)
        y = x if self.stride == 1 else nn.functional.max_pool1d(h, self.stride).transpose(1, 2)
        clips, width = x.shape[0], x.shape[2]
        q = self.query(x).reshape(clips, -1, self.heads, self.key).transpose(1, 2)
        k = self.keys(y).reshape(clips, -1, self.heads, self.key).permute(0, 2, 3, 1)
        v = self.value(y).reshape(clips, -1, self.heads, width // self.heads).transpose(1, 2)
        weight = torch.softmax(torch.matmul(q, k) / math.sqrt(self.key), -1)
        mixed = torch.matmul(weight, v).transpose(1, 2).reshape(clips, -1, width)
        return h + self.out(mixed).transpose(1, 2)


class Listener(nn.Module):
    """`echo`: with the look at the whole clip. `separable`: the later picture layers first look around, then mix channels
    (depthwise separable convolution), which costs a fifth."""

    def __init__(self, channels=(24, 32, 48), width=128, dilations=(1, 2, 4, 8, 16, 1), echo=True, separable=False, stride=1):
        super().__init__()
        a, b, c = channels

        def layer(i, o):
            if separable:
                return [nn.Conv2d(i, i, 3, padding=1, groups=i, bias=False), nn.Conv2d(i, o, 1, bias=False)]
            return [nn.Conv2d(i, o, 3, padding=1, bias=False)]
        self.picture = nn.Sequential(
            nn.Conv2d(2, a, 3, stride=(1, 2), padding=1, bias=False), nn.BatchNorm2d(a), nn.ReLU(),
            *layer(a, b), nn.BatchNorm2d(b), nn.ReLU(), nn.MaxPool2d((1, 2)),
            *layer(b, c), nn.BatchNorm2d(c), nn.ReLU(), nn.MaxPool2d((1, 3)))
        self.narrow = nn.Sequential(nn.Conv1d(c * 7, width, 1, bias=False), nn.BatchNorm1d(width), nn.ReLU())
        blocks = [Residual(width, d) for d in dilations]
        if echo:
            blocks.insert(len(blocks) // 2, Echo(width, stride=stride))
        self.time = nn.Sequential(*blocks)
        self.dropout = nn.Dropout(0.1)
        self.head = nn.Conv1d(width, 3 * OUTPUTS, 1)
        with torch.no_grad():
            self.head.bias[:OUTPUTS] = -4.0

    def hidden(self, x):
        """The last layer but one, [clips, width, frames]."""
        h = self.picture(x)
        return self.time(self.narrow(h.permute(0, 1, 3, 2).flatten(1, 2)))

    def said(self, h):
        out = self.head(self.dropout(h)).transpose(1, 2)
        return out[:, :, :OUTPUTS], out[:, :, OUTPUTS:2 * OUTPUTS], out[:, :, 2 * OUTPUTS:]

    def forward(self, x):
        return self.said(self.hidden(x))


def loss(outputs, target, teacher=None, trust=0.4):
    """Per-clip loss [clips]. teacher: another network's logits, which have `trust` of the say on onsets. target: onset (1 at the frame, 0.35 beside it), weight, velocity, offset; all [clips, frames, 19]."""
    logit, velocity, offset = (o.float() for o in outputs)
    onset, weight = target["onset"], target["weight"]
    wanted = onset if teacher is None else torch.lerp(onset, torch.sigmoid(teacher.float()), trust)
    cross = nn.functional.binary_cross_entropy_with_logits(logit, wanted, reduction="none")
    # Focal part (Lin et al., Focal Loss for Dense Object Detection, 2017), gentle: easy frames count less.
    miss = (torch.sigmoid(logit) - onset).abs().detach()
    factor = (0.3 + miss) * (1 + 2.0 * (onset > 0.9)) * weight
    # A hat or cymbal said where only a drum was struck counts more: that is most of what is heard wrongly.
    drum = onset[:, :, [0, 1, 4]].amax(2, keepdim=True) > 0.3
    factor = factor * torch.where(drum & (onset < 0.1) & METAL.to(onset.device), 1.2, 1.0)
    hit = (target["near"] > 0) * weight
    # Velocity must rank a piece's strokes within a clip; how loud the piece is as a whole counts little.
    off = velocity - target["velocity"]
    usual = (off * hit).sum(1, keepdim=True) / hit.sum(1, keepdim=True).clamp_min(1)
    zero = torch.zeros_like(off)
    detail = nn.functional.smooth_l1_loss(off - usual, zero, reduction="none", beta=0.03) * 3.0
    detail = detail + nn.functional.smooth_l1_loss(off, zero, reduction="none", beta=0.1) * 0.3
    detail = detail + nn.functional.smooth_l1_loss(offset, target["offset"], reduction="none", beta=0.05) * 1.0
    return (cross * factor).sum((1, 2)) / 50 + (detail * hit).sum((1, 2)) / 60


def targets(hits, clip_of, clips, frames, device):
    """Dense targets from hits [n, 4] (sample, piece, velocity, counts) of many clips."""
    from pieces import FAMILY_OF
    hits = torch.as_tensor(hits, device=device)
    clip = torch.as_tensor(clip_of, device=device).long()
    family = torch.tensor(FAMILY_OF, device=device)
    shape = (clips, frames, OUTPUTS)
    result = {name: torch.zeros(shape, device=device) for name in ("onset", "near", "velocity", "offset")}
    result["weight"] = torch.ones(shape, device=device)
    if len(hits):
        place = hits[:, 0] / 441
        centre = place.round().long()
        keep = (centre >= 0) & (centre < frames)
        hits, clip, place, centre = hits[keep], clip[keep], place[keep], centre[keep]
        for column in (hits[:, 1].long() + 5, family[hits[:, 1].long()]):
            # Beside first, then the frame itself, so that close strokes keep their own frames.
            for shift, value in ((-1, 0.35), (1, 0.35), (0, 1.0)):
                frame = centre + shift
                ok = (frame >= 0) & (frame < frames)
                index = (clip[ok], frame[ok], column[ok])
                if shift == 0:
                    result["onset"][index] = value
                else:
                    result["onset"][index] = torch.maximum(result["onset"][index], torch.full_like(place[ok], value))
                result["near"][index] = 1
                result["velocity"][index] = hits[ok, 2] / 127
                result["offset"][index] = place[ok] - frame[ok]
        faint = hits[:, 3] < 0.5
        for column in (hits[:, 1].long() + 5, family[hits[:, 1].long()]):
            for shift in (-1, 0, 1):
                frame = centre + shift
                ok = faint & (frame >= 0) & (frame < frames)
                result["weight"][clip[ok], frame[ok], column[ok]] = 0
    return result
