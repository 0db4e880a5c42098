"""Stock and cost: what came, was used and is left of each lot; what a bar cost; what to order; bars in store.

Begin at `ledger.ledger` (every lot's account), `value.fifo` (what was used and is left, in money), `cost.batch_cost`,
`order.orders` and `bars.in_store`. `told.py` reads lots and records into what these take.
"""
