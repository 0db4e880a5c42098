"""The safety pages: cards for accidents, points of the walk and the daily check, limits, equipment, labels; the usual upkeep.

Made into pages at build time and not there in the browser. Begin with `cards.cards`, `points.phases`, `limits.limits` and `upkeep.usual_tasks`.
"""
