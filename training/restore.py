"""A checkpoint of the shipped network: `python3 restore.py ../models/listener.onnx OUT.pt`.

Norms are folded into the file's convolutions; the checkpoint has norms that do nothing but add. It can be listened with and gone on from.
"""
import json
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper

from network import Listener
from train import SHAPES


def main(path, out):
    graph = onnx.load(path).graph
    stored = {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}
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
        assert state[name].shape == stored[inputs[1]].shape, name
        state[name] = stored[inputs[1]]
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
    main(*sys.argv[1:])
