"""Writes what the engine runs behind the listener: `python3 export_comparer.py COMPARER.pt LIGHT.pt OUT`.

OUT/comparer-look.onnx: `curves`, `hidden`, `pictures`, `fine` [moments, n] (moments.py) -> `seen` [moments, 192], row by row, so that a long
recording need not keep its pictures. OUT/comparer.onnx: `seen`, `gaps`, `curves` [1, moments, n] -> `onset` (0..1), `velocity` (0..1) [1, moments, 19],
`place` (columns from the moment) [1, moments, 5]. Weights are stored in half precision and widened when loaded. OUT/comparer-vector.json: the
moments of the sound in test-vector.json, what is seen there and what comes out, by the weights as stored.
"""
import json
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

from comparer import Comparer, VIEWS
from evaluate import listen_together, load
from export import test_sound
from features import Features
from moments import Views, WIDTHS

ROWS = ("curves", "hidden", "pictures", "fine")


class Look(torch.nn.Module):
    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, curves, hidden, pictures, fine):
        views = dict(zip(ROWS, (curves, hidden, pictures, fine)))
        return sum(self.net.entered(name, views[name]) for name in ROWS)


class Compare(torch.nn.Module):
    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, seen, gaps, curves):
        logit, velocity, place = self.net.compared(seen + self.net.entered("gaps", gaps), curves, None)
        return torch.sigmoid(logit), velocity.clamp(0, 1), place


def halve(path):
    """Stores every large table of weights in half precision, with a cast before its use."""
    model = onnx.load(path)
    graph = model.graph
    for i, table in enumerate(list(graph.initializer)):
        values = numpy_helper.to_array(table)
        if values.dtype == np.float32 and values.size > 4096:
            graph.initializer.remove(table)
            graph.initializer.append(numpy_helper.from_array(values.astype(np.float16), table.name + "_half"))
            graph.node.insert(0, helper.make_node("Cast", [table.name + "_half"], [table.name], to=TensorProto.FLOAT))
    onnx.checker.check_model(model)
    onnx.save(model, path)


def main(checkpoint, listener, out):
    out = Path(out)
    net = Comparer().eval()
    net.load_state_dict(torch.load(checkpoint, map_location="cpu"))
    for p in net.parameters():
        if p.numel() > 4096:
            p.data = p.data.half().float()
    sound = torch.from_numpy(test_sound().astype(np.float32) / 32768)[None]
    sound = sound * (0.1 / sound.square().mean().sqrt())
    pictures = Features()(sound)
    with torch.no_grad():
        views, t, _ = Views()(sound, pictures, *listen_together(load(listener, "cpu")[0], pictures))
        look, compare = Look(net).eval(), Compare(net).eval()
        rows = tuple(views[name][0] for name in ROWS)
        seen = look(*rows)
        second = (seen[None], views["gaps"], views["curves"])
        onset, velocity, place = compare(*second)
    options = dict(opset_version=15 if torch.__version__ < "2" else 17)
    if torch.__version__ >= "2":
        options["dynamo"] = False
    torch.onnx.export(look, rows, str(out / "comparer-look.onnx"), input_names=list(ROWS), output_names=["seen"],
                      dynamic_axes={n: {0: "moments"} for n in (*ROWS, "seen")}, **options)
    names = ["onset", "velocity", "place"]
    torch.onnx.export(compare, second, str(out / "comparer.onnx"), input_names=["seen", "gaps", "curves"], output_names=names,
                      dynamic_axes={n: {1: "moments"} for n in ("seen", "gaps", "curves", *names)}, **options)
    for name in ("comparer-look.onnx", "comparer.onnx"):
        halve(str(out / name))
        print(f"{name}: {(out / name).stat().st_size / 1e6:.2f} MB")

    def numbers(array):
        return [float(f"{v:.5g}") for v in np.asarray(array).reshape(-1)]
    (out / "comparer-vector.json").write_text(json.dumps({
        "columns": t[0].tolist(), "fine": numbers(views["fine"]), "gaps": numbers(views["gaps"]), "curves": numbers(views["curves"]), "seen": numbers(seen),
        "onset": numbers(onset), "velocity": numbers(velocity), "place": numbers(place)}))
    print(f"{t.shape[1]} moments in the test sound, widths {WIDTHS}, views {VIEWS}")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
