"""Straight lines between the points of a table."""

from bisect import bisect_right
from collections.abc import Sequence


def cell(nodes: Sequence[float], at: float, what: str, unit: str) -> tuple[int, float]:
    """Index of the node below `at` and the share of the way to the next one.

    nodes: two or more, rising. what, unit: words for the ValueError when `at` lies outside them.
    """
    if not nodes[0] <= at <= nodes[-1]:
        raise ValueError(f"{what} are known from {nodes[0]:g} to {nodes[-1]:g} {unit}, not at {at:g} {unit}.")
    below = min(bisect_right(nodes, at) - 1, len(nodes) - 2)
    return below, (at - nodes[below]) / (nodes[below + 1] - nodes[below])


def on_line(values: Sequence[float], found: tuple[int, float]) -> float:
    """The value at the place between two nodes that `cell` found."""
    below, share = found
    return values[below] + share * (values[below + 1] - values[below])
