"""A day in the workshop: which block is worked when, what stands in its way, and what of it is done.

Begin at `schedule.schedule` (the order that ends soonest), `durations.durations` (how long each stage takes here) and
`conflicts.conflicts` (what is short or in the way, and what solves it).
"""
