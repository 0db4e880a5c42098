"""What is frozen is shown without what could pass for a part of the page: every attribute of it has to be on that list."""

import json
import re
from pathlib import Path

from answers.demo import demo_requests, practice_batch
from answers.door import answer

ROOT = Path(__file__).resolve().parents[2]
KEPT = set(re.search(r"KEPT = new Set\(\s*`([^`]*)`", (ROOT / "site/static/js/frame/frozen.mjs").read_text(encoding="utf-8")).group(1).split())


def attributes(html):
    bare = re.sub(r'="[^"]*"', "", html)
    return {name.lower() for tag in re.findall(r"<[a-z][^>]*>", bare) for name in tag.strip("<>/").split()[1:]}


def test_a_sheet_and_the_record_of_a_block_or_a_fill_look_as_they_were_made():
    asked = [request for request in demo_requests() if request["task"] in ("at_the_scale", "tank_fill")]
    records = [html for request in asked if (html := json.loads(answer(json.dumps(request))).get("html", {}).get("scale_record"))]
    assert len(records) >= 2
    for html in (practice_batch()["record"]["html"], *records):
        assert attributes(html) <= KEPT, attributes(html) - KEPT
