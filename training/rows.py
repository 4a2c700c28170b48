"""Convolutions over time as convolutions over a picture of one row: `python3 rows.py MODEL.onnx`, in place.

ONNX Runtime keeps its blocked kernels for convolutions of two dimensions; one over time is copied out and multiplied instead, a third slower. The
numbers stay the same but for rounding. What comes out of such a convolution stays a row ([1, channels, 1, frames]) through what works number by
number, up to the first operation that is not told here.
"""
import sys

import numpy as np
import onnx
from onnx import helper, numpy_helper

NUMBER_BY_NUMBER = ("Relu", "Add")
AXIS = "the_row"


def as_rows(model):
    graph = model.graph
    tables = {table.name: table for table in graph.initializer}
    asked = {output.name for output in graph.output}
    nodes, made, rows = [], {}, set()

    def turned(name, operation):
        if (name, operation) not in made:
            made[name, operation] = f"{name}_{operation.lower()}"
            nodes.append(helper.make_node(operation, [name, AXIS], [made[name, operation]]))
        return made[name, operation]

    for node in graph.node:
        table = tables.get(node.input[1]) if node.op_type == "Conv" else None
        convolves = table is not None and len(table.dims) == 3
        is_row = convolves or node.op_type in NUMBER_BY_NUMBER and any(name in rows for name in node.input)
        for i, name in enumerate(node.input):
            if name in tables or not name:
                continue
            if is_row and name not in rows:
                node.input[i] = turned(name, "Unsqueeze")
            elif not is_row and name in rows:
                node.input[i] = turned(name, "Squeeze")
        if convolves:
            table.CopyFrom(numpy_helper.from_array(numpy_helper.to_array(table)[:, :, None], table.name))
            for attribute in node.attribute:
                old = list(attribute.ints)
                if attribute.name in ("dilations", "strides", "kernel_shape"):
                    attribute.ints[:] = [1, *old]
                elif attribute.name == "pads":
                    attribute.ints[:] = [0, old[0], 0, old[1]]
        nodes.append(node)
        if is_row:
            rows.update(node.output)
    for name in asked & rows:
        # The output keeps its name and shape; inside, the row has another.
        inner = name + "_row"
        for node in nodes:
            for names in (node.input, node.output):
                for i, other in enumerate(names):
                    if other == name:
                        names[i] = inner
        nodes.append(helper.make_node("Squeeze", [inner, AXIS], [name]))
    if rows:
        graph.initializer.append(numpy_helper.from_array(np.array([2], np.int64), AXIS))
        del graph.node[:]
        graph.node.extend(nodes)
        del graph.value_info[:]
    onnx.checker.check_model(model)
    return model


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    onnx.save(as_rows(onnx.load(sys.argv[1])), sys.argv[1])
