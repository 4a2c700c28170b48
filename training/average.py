"""Averages the weights of two trainings of one network: `python3 average.py FIRST SECOND WORK OUT`.

A network that went on from another lies in the same valley, and the middle is often the flatter place (Izmailov et al., Averaging Weights
Leads to Wider Optima and Better Generalization, UAI 2018). Thresholds and calibration are chosen anew, as after training; both are in
OUT, a checkpoint for export.py. A threshold is at least 0.5: a stroke must be likelier than not by the network's own word.
"""
import sys

import numpy as np
import torch

import evaluate
from pieces import FAMILY_OF
from rendering import Bank
from scoring import best_thresholds, calibrate

LEAST = 0.5


def main(first, second, work, out):
    net, saved = evaluate.load(second, "cpu")
    other = torch.load(first, map_location="cpu")["average"]
    middle = {k: torch.lerp(v, other[k], 0.5) if v.dtype.is_floating_point else v for k, v in net.state_dict().items()}
    net.load_state_dict(middle)
    heard = []
    for pictures, hits in evaluate.chosen_set(work, "cpu", Bank(f"{work}/bank-train.npz", "cpu")):
        hits = hits[hits[:, 0] >= 0]
        heard.append((evaluate.listen(net, pictures), hits[:, 0] / evaluate.RATE, np.array(FAMILY_OF)[hits[:, 1].astype(int)], hits[:, 3] > 0))
    thresholds = np.maximum(best_thresholds([(c, t[asked], f[asked]) for c, t, f, asked in heard]), LEAST)
    calibration = calibrate([(c, t, f) for c, t, f, _ in heard])
    print("thresholds", np.round(thresholds, 2), "calibration", np.round(calibration, 2).tolist())
    torch.save({"shape": saved["shape"], "net": middle, "average": middle, "thresholds": torch.tensor(thresholds), "calibration": torch.tensor(calibration)}, out)


if __name__ == "__main__":
    if len(sys.argv) != 5:
        sys.exit(__doc__)
    main(*sys.argv[1:])
