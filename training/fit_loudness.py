"""Fits what weighs the estimates of a stroke's loudness: `python3 fit_loudness.py work SHARED ../models/loudness.json`.

Takes of the train split are rendered with training kits, dry and in invented rooms, and heard by the engine as it is (`bench/Hindbeat.Accuracy --loudness`,
built in Release beforehand), which writes what it knows of each stroke's loudness beside the level that was rendered. Of four takes one is as it was played; in the
others velocities are shuffled among a piece's strokes or drawn anew and strokes left out, so that hearing is learned and not how drummers go on.
Rows already in WORK/loudness are used again (delete the folder when the listener has changed). Prints ranks on two kits that it does not learn from.
"""
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import torch
from torch import nn

from pieces import PIECES

ACCURACY = Path(__file__).parent.parent / "bench/Hindbeat.Accuracy/bin/Release/net10.0/Hindbeat.Accuracy"
DRY = ("BJA_Pacific", "ColomboAcousticDrumkit", "Millo_MultiLayered3", "The Black Pearl 1.0", "Black_Pearl_avl-0", "FluidR3-0", "ElectricEmpireKit")
FAR = ("BJA_Pacific", "ColomboAcousticDrumkit", "Millo_MultiLayered3", "The Black Pearl 1.0", "Black_Pearl_avl-0", "FluidR3-0", "muldjord-overhead")
VIEWS = ("overhead", "studio")
CHOSEN_ON = ("Millo_MultiLayered2", "room")
TAKES, SECONDS = 40, 30

FAMILIES = ("kick", "snare", "hat", "cymbal", "tom")
FAMILY = (0, 1, 1, 2, 2, 2, 3, 3, 3, 3, 3, 4, 4, 4)
BANDS = 12
ESTIMATES = BANDS + 4
KNOWN = 2 * BANDS + 8 + len(FAMILIES)
HEAD = 5  # take, piece heard, piece, velocity, level rendered
TOGETHER = ESTIMATES - 1
HIDDEN = 16
REMAINDER = 3
LEAST = 6  # strokes of a piece in a take


def rows(file):
    return np.fromfile(file, "<f4").reshape(-1, HEAD + KNOWN + ESTIMATES)


def hear(work, shared):
    """Renders and hears; returns (to learn from, to choose on): rows by name."""
    folder, here = work / "loudness", Path(__file__).parent
    folder.mkdir(parents=True, exist_ok=True)

    def unpacked(kit):
        if not (folder / kit).exists():
            subprocess.run([sys.executable, here / "unpack_kit.py", work / "bank-train.npz", kit, folder / kit], check=True)
        return folder / kit

    def heard(name, kit, view, seed):
        if not (folder / f"{name}.rows").exists():
            subprocess.run([ACCURACY, "--takes", shared / "groove-midi", "--split", "train", "--count", str(TAKES), "--seconds", str(SECONDS), "--kit", kit, "--view", view,
                            "--seed", str(seed), "--loudness", folder / f"{name}.part"], check=True)
            (folder / f"{name}.part").rename(folder / f"{name}.rows")
        return name, rows(folder / f"{name}.rows")

    chosen_on = [heard(CHOSEN_ON[0], unpacked(CHOSEN_ON[0]), "strokes", 0), heard("muldjord room", shared / "muldjord-kit", CHOSEN_ON[1], 0),
                 heard("muldjord room, altered", shared / "muldjord-kit", CHOSEN_ON[1], 1)]
    learned = [heard(f"muldjord {view}", shared / "muldjord-kit", view, 10 + i) for i, view in enumerate(VIEWS)]
    learned += [heard(kit, unpacked(kit), "strokes", 20 + i) for i, kit in enumerate(DRY)]
    for i, kit in enumerate(FAR):
        if not (folder / f"{kit} far").exists():
            subprocess.run([sys.executable, here / "room_kit.py", unpacked(kit), folder / f"{kit} far", str(i + 1)], check=True)
        learned.append(heard(f"{kit} far", folder / f"{kit} far", "strokes", 40 + i))
    return learned, chosen_on


def groups(table, family):
    """(what is known, estimates, level, order of velocity, velocity in decibels) of every piece of a take."""
    for take in np.unique(table[:, 0]):
        for piece in np.unique(table[table[:, 2] >= 0, 2]):
            if FAMILY[int(piece)] != family:
                continue
            mine = table[(table[:, 0] == take) & (table[:, 2] == piece)]
            mine = mine[[FAMILY[int(p)] == family for p in mine[:, 1]]] if len(mine) else mine
            if len(mine) >= LEAST:
                order = ranked(mine[:, 3])
                yield tuple(torch.tensor(x, dtype=torch.float32) for x in (mine[:, HEAD:HEAD + KNOWN], mine[:, HEAD + KNOWN:], mine[:, 4], order - order.mean(), 40 * np.log10(np.maximum(mine[:, 3], 1) / 127)))


class Weigher(nn.Module):
    def __init__(self, known):
        super().__init__()
        self.mean, self.scale = known.mean(0), known.std(0) + 0.05
        self.outer, self.inner = nn.Linear(KNOWN, HIDDEN), nn.Linear(HIDDEN, HIDDEN)
        self.say, self.rest = nn.Linear(HIDDEN, ESTIMATES), nn.Linear(HIDDEN, 1)
        self.drop = nn.Dropout(0.1)
        for zero in (self.say.weight, self.rest.weight, self.rest.bias):
            nn.init.zeros_(zero)
        # It begins with the level by few bands and the comparer, which nothing but company and what rings on disturbs.
        self.say.bias.data[TOGETHER] += 6

    def forward(self, known, estimates):
        hidden = torch.tanh(self.outer(self.drop((known - self.mean) / self.scale)))
        hidden = torch.tanh(self.inner(self.drop(hidden)))
        return (torch.softmax(self.say(hidden), 1) * estimates).sum(1) + REMAINDER * self.rest(hidden)[:, 0]

    def file(self):
        outer = self.outer.weight / self.scale
        parts = {"outer": outer, "outerShift": self.outer.bias - outer @ self.mean, "inner": self.inner.weight, "innerShift": self.inner.bias,
                 "say": self.say.weight, "sayShift": self.say.bias, "rest": self.rest.weight, "restShift": self.rest.bias}
        return {name: [float(f"{x:.5g}") for x in values.detach().flatten().tolist()] for name, values in parts.items()}


def loss_of(heard, level, order, strength):
    """Levels but for a constant, near misses counting most, the order within the piece, and a little that velocities are right on the whole."""
    miss = heard - level
    miss = miss - miss.detach().median()
    loss = 0.3 * (torch.sqrt(miss ** 2 + 0.09) - 0.3).mean()
    loss = loss + 0.1 * torch.sqrt((heard.mean() - strength.mean()) ** 2 + 1)
    if order.std() > 0:
        heard = heard - heard.mean()
        loss = loss + 1 - (heard * order).sum() / torch.sqrt((heard ** 2).sum() * (order ** 2).sum() + 1e-3)
    return loss


def fit(learned, family, epochs=60, batch=16, rate=1e-2):
    torch.manual_seed(family)
    random = np.random.default_rng(family)
    data = [group for _, table in learned for group in groups(table, family)]
    model = Weigher(torch.cat([group[0] for group in data]))
    steps = epochs * (len(data) // batch)
    optimizer = torch.optim.AdamW(model.parameters(), lr=rate, weight_decay=1e-3)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimizer, rate, total_steps=steps)
    for _ in range(steps):
        some = [data[i] for i in random.integers(0, len(data), batch)]
        heard = model(torch.cat([group[0] for group in some]), torch.cat([group[1] for group in some])).split([len(group[0]) for group in some])
        loss = sum(loss_of(h, *group[2:]) for h, group in zip(heard, some)) / batch
        optimizer.zero_grad()
        loss.backward()
        optimizer.step()
        schedule.step()
    model.eval()
    print(f"{FAMILIES[family]}: {len(data)} pieces of takes, loss of the last batch {loss.item():.3f}", flush=True)
    return model


def ranked(values):
    """Ranks, ties by their mean."""
    _, where, counts = np.unique(values, return_inverse=True, return_counts=True)
    return (np.cumsum(counts) - (counts - 1) / 2)[where]


def spearman(a, b):
    a, b = ranked(a), ranked(b)
    return np.corrcoef(a, b)[0, 1] if a.std() > 0 and b.std() > 0 else np.nan


def drawn(decibels, error=0.3, step=0.05, rounds=60, least=6):
    """Toward the levels that one piece's strokes are struck at, as the engine's EqualStrokes."""
    if len(decibels) < least:
        return decibels
    low = decibels.min() - step
    at = np.round((decibels - low) / step).astype(int)
    counts = np.bincount(at, minlength=at.max() + 2)
    levels = np.arange(len(counts))
    density = np.exp(-np.sqrt(2) * step * np.abs(levels[:, None] - levels) / error)
    often = np.full(len(counts), 1 / len(counts))
    for _ in range(rounds):
        often *= density @ (counts / (density @ often)) / len(decibels)
    return low + step * ((density @ (often * levels)) / (density @ often))[at]


def velocities(table, decibels):
    """As the engine gives them: equal strokes drawn together, then a quarter of a decibel."""
    result = np.array(decibels, dtype=float)
    for take in np.unique(table[:, 0]):
        for heard in np.unique(table[table[:, 0] == take, 1]):
            mine = (table[:, 0] == take) & (table[:, 1] == heard)
            result[mine] = drawn(result[mine])
    return np.round(127 * 10 ** (0.25 * np.round(4 * result) / 40))


def report(name, table, models, least=10):
    heard, known, estimates = table[:, 1].astype(int), torch.tensor(table[:, HEAD:HEAD + KNOWN]), torch.tensor(table[:, HEAD + KNOWN:])
    said = np.zeros(len(table))
    for family, model in enumerate(models):
        mine = np.array([FAMILY[p] == family for p in heard])
        with torch.no_grad():
            said[mine] = model(known[mine], estimates[mine]).numpy()
    print(f"{name}: velocity rank within a take (takes), few bands and comparer | weighed | level as rendered, off by 0.5 dB; across takes, weighed")
    before, said = velocities(table, table[:, -1]), velocities(table, said)
    off = 0.5 * np.random.default_rng(0).standard_normal(len(table))
    for piece, id_ in enumerate(PIECES):
        mine = table[:, 2] == piece
        takes = [mine & (table[:, 0] == take) for take in np.unique(table[:, 0])]
        takes = [take for take in takes if take.sum() >= least]
        if takes:
            means = [np.nanmean([spearman(table[take, 3], x[take]) for take in takes]) for x in (before, said, table[:, 4] + off)]
            print(f"  {id_:11} ({len(takes)})", " | ".join(f"{mean:.3f}" for mean in means), f"; {spearman(table[mine, 3], said[mine]):.3f}")


def vector(table, models, each=3):
    """Some strokes of every family and what comes of them, for the engine's test."""
    result = []
    for family, model in enumerate(models):
        for row in [row for row in table if FAMILY[int(row[1])] == family][:each]:
            known, estimates = row[HEAD:HEAD + KNOWN], row[HEAD + KNOWN:]
            with torch.no_grad():
                loudness = model(torch.tensor(known[None]), torch.tensor(estimates[None])).item()
            result.append({"family": FAMILIES[family], "known": [float(f"{x:.7g}") for x in known], "estimates": [float(f"{x:.7g}") for x in estimates], "loudness": round(loudness, 4)})
    return result


def main(work, shared, out):
    torch.set_num_threads(2)
    learned, chosen_on = hear(work, shared)
    models = [fit(learned, family) for family in range(len(FAMILIES))]
    for name, table in chosen_on:
        report(name, table, models)
    out.write_text(json.dumps({family: model.file() for family, model in zip(FAMILIES, models)}))
    out.with_name(out.stem + "-vector.json").write_text(json.dumps(vector(chosen_on[0][1], models)))


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]))
