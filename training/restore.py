"""A checkpoint of a shipped network: `python3 restore.py ../models/listener.onnx OUT.pt`, or `../models/comparer.onnx` with `comparer-look.onnx` beside it.

Norms are folded into the listener's convolutions; its checkpoint has norms that do nothing but add. The comparer's weights have the half precision they are stored in.
Both can be listened with and gone on from.
"""
import json
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper

from comparer import Comparer
from network import Listener
from train import SHAPES


def tables(graph):
    return {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}


def comparer(path, out):
    graph = onnx.load(path).graph
    second = {name.removesuffix("_half"): value.float() for name, value in tables(graph).items()}
    first = {name.removesuffix("_half"): value.float() for name, value in tables(onnx.load(Path(path).with_name("comparer-look.onnx")).graph).items()}
    # The linear layers of the second file have lost their names, but not their order.
    products = [second[n.input[1]] for n in graph.node if n.op_type == "MatMul" and n.input[1] in second]
    net = Comparer()
    state = net.state_dict()
    unnamed = []
    for name in state:
        stored = first.get("net." + name, second.get("net." + name))
        if stored is None:
            unnamed.append(name)
        else:
            assert state[name].shape == stored.shape, name
            state[name] = stored
    # Order of use: what is seen of the gaps, the first layer, then block by block.
    for name, product in zip(sorted(unnamed, key=lambda name: ("enter" not in name, name.startswith("blocks") or name.startswith("head"), name.startswith("head"))), products, strict=True):
        assert state[name].shape == product.T.shape, name
        state[name] = product.T.contiguous()
    net.load_state_dict(state)
    torch.save(state, out)
    vector = json.loads(Path(path).with_name("comparer-vector.json").read_text())
    moments = len(vector["columns"])
    curves, seen, gaps = (torch.tensor(vector[name]).reshape(1, moments, -1) for name in ("curves", "seen", "gaps"))
    net.eval()
    with torch.no_grad():
        logit, velocity, place = net.compared(seen + net.entered("gaps", gaps), curves, None)
    for name, value in (("onset", torch.sigmoid(logit)), ("velocity", velocity.clamp(0, 1)), ("place", place)):
        print(name, "largest difference to the file's test vector", float(np.abs(value.numpy().reshape(-1) - np.array(vector[name])).max()))


def listener(path, out):
    graph = onnx.load(path).graph
    stored = tables(graph)
    convolutions = [n.input for n in graph.node if n.op_type == "Conv"]
    products = [n.input[1] for n in graph.node if n.op_type == "MatMul" and n.input[1] in stored]
    net = Listener(**SHAPES["light"]).eval()
    state = net.state_dict()
    for name in state:
        if name.endswith("running_mean"):
            state[name] = torch.zeros_like(state[name])
        elif name.endswith("running_var"):
            state[name] = torch.full_like(state[name], 1 - 1e-5)
    own = [name for name in state if name.endswith(".weight") and state[name].ndim >= 3]
    assert len(own) == len(convolutions)
    for name, inputs in zip(own, convolutions):
        # Over time, the file's are of one row (rows.py).
        state[name] = stored[inputs[1]].reshape(state[name].shape)
        if len(inputs) == 3 and not name.startswith("head"):
            norm = name.replace("conv.weight", "norm.bias") if "conv" in name else name.rsplit(".", 2)[0] + f".{int(name.split('.')[1]) + 1}.bias"
            state[norm] = stored[inputs[2]]
    for name in state:
        if name in ("head.bias",) or name.split(".")[-2] in ("query", "keys", "value", "out") and name.endswith("bias"):
            state[name] = stored["net." + name]
    echo = [name for name in state if name.split(".")[-2] in ("query", "keys", "value", "out") and name.endswith("weight")]
    for name, product in zip(echo, products):
        state[name] = stored[product].T.contiguous()
    net.load_state_dict(state)
    torch.save({"shape": json.loads(json.dumps(SHAPES["light"])), "net": state, "average": state}, out)
    vector = json.loads((Path(path).parent / "test-vector.json").read_text())
    features = torch.tensor(vector["features"]).reshape(vector["featuresShape"])[None]
    with torch.no_grad():
        logit, velocity, offset = net(features)
    for name, value in (("onset", torch.sigmoid(logit)), ("velocity", velocity.clamp(0, 1)), ("offset", offset)):
        print(name, "largest difference to the file's test vector", float(np.abs(value[0].numpy().reshape(-1) - np.array(vector[name])).max()))


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    (comparer if "comparer" in Path(sys.argv[1]).name else listener)(*sys.argv[1:])
