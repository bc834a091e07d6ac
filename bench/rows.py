"""The common form of what bench/ measures: lines of JSON that every bench_* program appends to the file named by CROSSHATCH_ROWS, and that table.py gathers.

A row compares: ours against another at the same work, in one run on one machine. `ratio` is the other's figure over ours, so that above 1 we are better where
less is better (seconds, bytes). A row of growth holds five sizes, the figure at each, and the exponent fitted through them: figure ~ size^exponent.
Without CROSSHATCH_ROWS nothing is written, and a program stands by itself.
"""
import json
import math
import os


def put(row):
    path = os.environ.get("CROSSHATCH_ROWS")
    if path:
        with open(path, "a", encoding="utf-8") as stream:
            stream.write(json.dumps(row) + "\n")


def compare(area, what, ours, other, other_name, unit="s", wanted="", met=None):
    """Ours against another's, both in `unit`, less is better. `met` None: nothing was promised."""
    ratio = other / ours if ours > 0 else math.inf
    put({"kind": "compare", "area": area, "what": what, "ours": ours, "other": other, "other_name": other_name, "unit": unit, "ratio": ratio,
         "wanted": wanted, "met": met})
    return ratio


def figure(area, what, ours, unit, wanted="", met=None):
    """A figure of ours that stands alone."""
    put({"kind": "figure", "area": area, "what": what, "ours": ours, "unit": unit, "wanted": wanted, "met": met})


def exponent(sizes, figures):
    """Slope of the least-squares line through the logarithms."""
    x, y = [math.log(size) for size in sizes], [math.log(figure_) for figure_ in figures]
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) / sum((a - mean_x) ** 2 for a in x)


def growth(area, what, sizes, figures, unit="s"):
    put({"kind": "growth", "area": area, "what": what, "sizes": sizes, "figures": figures, "unit": unit, "exponent": exponent(sizes, figures)})
    return exponent(sizes, figures)
