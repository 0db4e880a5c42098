"""Upkeep: the usual tasks that keep vessel, mold, cutter, scales and thermometers right, each with its danger and its steps.

Made into a page at build time and not there in the browser. Begin with `usual.usual_tasks`. What a workshop keeps of them, and its
own, are items (`workshop.upkeep.UpkeepTask`); when one is due is folded by the page's scripts.
"""
