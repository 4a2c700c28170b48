"""Writes the model the engine runs: `python3 export.py CHECKPOINT OUT`.

OUT/listener.onnx: input `features` [1, 2, frames, 84], outputs `onset` (0..1), `velocity` (0..1), `offset` (frames), each
[1, frames, 19], and `hidden` [1, 128, frames], the last layer but one, which the comparer looks at; OUT/listener.json: channels, thresholds, frame; OUT/test-vector.json: one second of sound, its features and the
outputs, for the engine's comparison. `calibration` holds slope and shift of each family (scoring.calibrate). Checks the file against PyTorch with ONNX Runtime where that is installed, and times it.
"""
import json
import sys
import time
from pathlib import Path

import numpy as np
import onnx
import torch

from evaluate import load
from features import Features
from pieces import CHANNELS, FAMILIES, PIECES
from rows import as_rows


class Exported(torch.nn.Module):
    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, features):
        hidden = self.net.hidden(features)
        logit, velocity, offset = self.net.said(hidden)
        return torch.sigmoid(logit), velocity.clamp(0, 1), offset, hidden


def test_sound():
    """One second that needs no recording: decaying tones and noise bursts at known places over faint noise, 16-bit."""
    random = np.random.default_rng(7)
    n = 44100
    x = random.normal(0, 0.001, n)
    time_ = np.arange(n) / 44100
    for at, frequency, level in ((0.1, 60, .5), (0.35, 190, .4), (0.35, 0, .2), (0.6, 0, .1), (0.75, 60, .5), (0.85, 0, .02)):
        t = np.maximum(time_ - at, 0)
        tone = np.sin(2 * np.pi * frequency * t) if frequency else random.normal(0, 1, n)
        x += level * tone * np.exp(-t / 0.05) * (time_ >= at)
    return np.round(np.clip(x, -1, 1) * 32767).astype(np.int16)


def main(checkpoint, out):
    out = Path(out)
    out.mkdir(parents=True, exist_ok=True)
    net, saved = load(checkpoint, "cpu")
    module = Exported(net).eval()
    sound = test_sound()
    x = torch.from_numpy(sound.astype(np.float32) / 32768)[None]
    x = x * (0.1 / x.square().mean().sqrt())
    features = Features()(x)
    with torch.no_grad():
        expected = [o[0].numpy() for o in module(features)][:3]
    names = ["onset", "velocity", "offset"]
    dynamic = {"features": {2: "frames"}, **{n: {1: "frames"} for n in names}, "hidden": {2: "frames"}}
    options = dict(input_names=["features"], output_names=[*names, "hidden"], dynamic_axes=dynamic, opset_version=15 if torch.__version__ < "2" else 17)
    if torch.__version__ >= "2":
        options["dynamo"] = False
    torch.onnx.export(module, features, str(out / "listener.onnx"), **options)
    onnx.save(as_rows(onnx.load(out / "listener.onnx")), out / "listener.onnx")
    (out / "listener.json").write_text(json.dumps({
        "rate": 44100, "hop": 441, "channels": CHANNELS, "families": FAMILIES, "pieces": PIECES, "levelDb": -20,
        "thresholds": dict(zip(FAMILIES, [round(float(t), 3) for t in saved.get("thresholds", [0.5] * 5)])),
        "calibration": dict(zip(FAMILIES, [[round(float(c), 3) for c in pair] for pair in saved.get("calibration", [[1, 0]] * 5)]))}, indent=1))

    def numbers(array):
        return [float(f"{v:.5g}") for v in np.asarray(array).reshape(-1)]
    (out / "test-vector.json").write_text(json.dumps({
        "sound": sound.tolist(), "soundScale": 1 / 32768, "features": numbers(features[0]), "featuresShape": list(features.shape[1:]),
        **{n: numbers(o) for n, o in zip(names, expected)}, "outputShape": list(expected[0].shape)}))
    print(f"{out / 'listener.onnx'}: {(out / 'listener.onnx').stat().st_size / 1e6:.2f} MB")
    try:
        import onnxruntime
    except ImportError:
        print("ONNX Runtime is not installed here: not compared")
        return
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(out / "listener.onnx"), options, providers=["CPUExecutionProvider"])
    got = session.run(None, {"features": features.numpy()})
    print("largest difference to PyTorch:", [float(np.abs(g[0] - e).max()) for g, e in zip(got, expected)])
    for frames in (600, 1200):
        picture = np.random.default_rng(0).random((1, 2, frames, 84), np.float32)
        session.run(None, {"features": picture})
        begin = time.perf_counter()
        for _ in range(5):
            session.run(None, {"features": picture})
        each = (time.perf_counter() - begin) / 5
        print(f"{frames} frames in {each * 1000:.1f} ms on one thread: {frames / 100 / each:.0f} x real time")


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    main(*sys.argv[1:])
