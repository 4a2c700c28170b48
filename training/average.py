"""Averages the weights of trainings of one network: `python3 average.py WORK OUT CHECKPOINT CHECKPOINT ...`.

Networks that went on from one another lie in the same valley, and the middle is often the flatter place (Izmailov et al., Averaging Weights
Leads to Wider Optima and Better Generalization, UAI 2018). Thresholds and calibration are chosen anew, as after training; both are in
OUT, a checkpoint for export.py. A threshold is at least 0.5: a stroke must be likelier than not by the network's own word.
"""
import sys

import numpy as np
import torch

import evaluate
from network import Listener
from pieces import FAMILY_OF
from rendering import Bank
from scoring import best_thresholds, calibrate

LEAST = 0.5
CLIPS = 480


def main(work, out, paths):
    device = "cuda" if torch.cuda.is_available() else "cpu"
    all_saved = [torch.load(path, map_location="cpu") for path in paths]
    shape = all_saved[0]["shape"]
    states = [saved["average"] for saved in all_saved]
    middle = {k: torch.stack([s[k] for s in states]).mean(0) if v.dtype.is_floating_point else v for k, v in states[0].items()}
    net = Listener(**{k: (tuple(v) if isinstance(v, list) else v) for k, v in shape.items()}).to(device)
    net.load_state_dict(middle)
    net.eval()
    heard = []
    for pictures, hits in evaluate.chosen_set(work, device, Bank(f"{work}/bank-train.npz", device), CLIPS):
        hits = hits[hits[:, 0] >= 0]
        heard.append((evaluate.listen(net, pictures), hits[:, 0] / evaluate.RATE, np.array(FAMILY_OF)[hits[:, 1].astype(int)], hits[:, 3] > 0))
    thresholds = np.maximum(best_thresholds([(c, t[asked], f[asked]) for c, t, f, asked in heard]), LEAST)
    calibration = calibrate([(c, t, f) for c, t, f, _ in heard])
    print("thresholds", np.round(thresholds, 2), "calibration", np.round(calibration, 2).tolist())
    torch.save({"shape": shape, "net": middle, "average": middle, "thresholds": torch.tensor(thresholds), "calibration": torch.tensor(calibration)}, out)


if __name__ == "__main__":
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(sys.argv[1], sys.argv[2], sys.argv[3:])
