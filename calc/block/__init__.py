"""What happened at one block: its events, its chemistry so far, what is still to come, and the ways back after a slip.

Begin with `events.fold`, `chemistry.Block` and `recovery.recovery`; `shape.can_be_weighed` looks at what a store holds.
"""
