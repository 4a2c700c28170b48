"""The comparer: what was struck at each moment of a passage, in the light of all its other moments.

The listener (network.py) hears a third of a second; a drum's hiss and a hat on it sound alike there. Whether a hat is in it shows beside the
same drum's other strokes, and beside the strokes before and after it. Every moment becomes a row of numbers (moments.py), looks at its
neighbours (convolutions over moments) and at its likes in the whole passage (attention without positions), and corrects the listener's word.
"""
import math

import torch
from torch import nn

from moments import WIDTHS

BASE = 19 + 19 + 5
VIEWS = ("curves", "hidden", "pictures", "fine", "gaps")


class Neighbours(nn.Module):
    def __init__(self, width, kernel=5):
        super().__init__()
        self.norm = nn.LayerNorm(width)
        self.conv = nn.Conv1d(width, width, kernel, padding=kernel // 2)
        self.dropout = nn.Dropout(0.1)

    def forward(self, h, hole):
        x = self.norm(h)
        x = x if hole is None else x * (1 - hole)[:, :, None]
        return h + self.dropout(torch.relu(self.conv(x.transpose(1, 2)).transpose(1, 2)))


class Likes(nn.Module):
    """Attention without positions among all moments, then a layer of its own (Vaswani et al., Attention Is All You Need, 2017)."""

    def __init__(self, width, heads, key=32):
        super().__init__()
        self.heads, self.key = heads, key
        self.norm, self.norm2 = nn.LayerNorm(width), nn.LayerNorm(width)
        self.query, self.keys, self.value = (nn.Linear(width, heads * key) for _ in range(3))
        self.out = nn.Linear(heads * key, width)
        self.wide, self.back = nn.Linear(width, 2 * width), nn.Linear(2 * width, width)
        self.dropout = nn.Dropout(0.1)

    def forward(self, h, hole):
        x = self.norm(h)
        clips = x.shape[0]

        def part(layer):
            return layer(x).reshape(clips, -1, self.heads, self.key).transpose(1, 2)
        score = torch.matmul(part(self.query), part(self.keys).transpose(2, 3)) / math.sqrt(self.key)
        if hole is not None:
            score = score - 1e4 * hole[:, None, None, :]
        mixed = torch.matmul(torch.softmax(score, -1), part(self.value)).transpose(1, 2).reshape(clips, -1, self.heads * self.key)
        h = h + self.dropout(self.out(mixed))
        return h + self.dropout(self.back(torch.relu(self.wide(self.norm2(h)))))


class Comparer(nn.Module):
    """[clips, moments, n] of each of VIEWS -> logit [.., 19], velocity [.., 19], place of each family in columns from the moment [.., 5]."""

    def __init__(self, width=192, heads=6, layers=3):
        super().__init__()
        self.enter = nn.ModuleDict({name: nn.Linear(WIDTHS[name], width) for name in VIEWS})
        for name in VIEWS:
            self.register_buffer(f"mean_{name}", torch.zeros(WIDTHS[name]))
            self.register_buffer(f"scale_{name}", torch.ones(WIDTHS[name]))
        self.first = nn.Linear(width, width)
        blocks = [Neighbours(width), Neighbours(width)]
        for _ in range(layers):
            blocks += [Likes(width, heads), Neighbours(width)]
        self.blocks = nn.ModuleList(blocks)
        self.norm = nn.LayerNorm(width)
        self.dropout = nn.Dropout(0.1)
        self.head = nn.Linear(width, BASE)
        nn.init.zeros_(self.head.weight)
        nn.init.zeros_(self.head.bias)
        self.trust = nn.Parameter(torch.ones(BASE))

    def entered(self, name, x):
        x = ((x - getattr(self, f"mean_{name}")) * getattr(self, f"scale_{name}")).clamp(-6, 6)
        if self.training and name in ("hidden", "pictures", "fine"):
            # Now and then a whole clip goes without one of them.
            x = x * (torch.rand(x.shape[0], 1, 1, device=x.device) > 0.08)
        return self.enter[name](x)

    def forward(self, views, hole=None):
        """hole: [clips, moments], 1 where a clip has no moment."""
        return self.compared(sum(self.entered(name, views[name]) for name in VIEWS), views["curves"], hole)

    def compared(self, seen, curves, hole):
        """From the sum of what is seen, [clips, moments, width]."""
        h = torch.relu(seen)
        h = h + torch.relu(self.first(self.dropout(h)))
        for block in self.blocks:
            h = block(h, hole)
        # The listener's own word: its logits about the moment, velocities and places.
        five = curves[:, :, :25].reshape(curves.shape[0], -1, 5, 5).amax(2)
        own = torch.cat([4 * five, 4 * curves[:, :, 25:39], curves[:, :, 39:63]], 2)
        out = self.trust * own + self.head(self.dropout(self.norm(h)))
        return out[:, :, :19], out[:, :, 19:38], out[:, :, 38:]


def loss(outputs, answer, there):
    """Per-clip loss [clips]."""
    logit, velocity, place = (o.float() for o in outputs)
    onset, weight = answer["onset"], answer["weight"] * there[:, :, None]
    cross = nn.functional.binary_cross_entropy_with_logits(logit, onset, reduction="none") * weight
    asked = there.sum(1).clamp_min(1).float()
    hit = onset * weight
    struck = hit.sum((1, 2)).clamp_min(1)
    off = velocity - answer["velocity"]
    usual = (off * hit).sum(1, keepdim=True) / hit.sum(1, keepdim=True).clamp_min(1)
    detail = nn.functional.smooth_l1_loss((off - usual) * hit, torch.zeros_like(off), reduction="none", beta=0.03) * 6
    detail = detail + nn.functional.smooth_l1_loss(off * hit, torch.zeros_like(off), reduction="none", beta=0.1) * 0.3
    late = nn.functional.smooth_l1_loss((place - answer["place"]) * hit[:, :, :5], torch.zeros_like(place), reduction="none", beta=0.05)
    return (cross[:, :, :5].sum((1, 2)) + 0.4 * cross[:, :, 5:].sum((1, 2))) / asked + detail.sum((1, 2)) / struck + 2 * late.sum((1, 2)) / struck
