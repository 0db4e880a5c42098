"""Three phones that record, hand copies round, crash and lose their stores, over many seeds (tests/site_js/phones_for_tests.mjs).

With --shop they have a shop server, which cuts, is lost and has no room (shops_for_tests.mjs).

Prints `figure: value unit` lines; fails where a seed ends with an event lost or changed, or with phones that differ.
"""

from __future__ import annotations

import argparse
import sys

from measuring import ROOT

from runtime.node import call_node, install_packages


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=10_000, help="seeds")
    parser.add_argument("--shop", action="store_true", help="with a shop server")
    given = parser.parse_args()
    node_modules, _ = install_packages(ROOT / "site", ROOT / ".tools")
    program = ("--import", "./tests/site_js/hooks.mjs", "tests/site_js/many_phones.mjs", str(given.runs), "1", "shop" if given.shop else "")
    return call_node(*program, cwd=ROOT, TAREWELL_NODE_MODULES=str(node_modules))


if __name__ == "__main__":
    sys.exit(main())
