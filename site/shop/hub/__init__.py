"""Several shops: each keeps its own mailbox, and a hub carries what is new from each to the others. Begin with `facts.py`.

A shop needs no hub to go on: it dials out, copies what came meanwhile once the line is back, and lets the hub take only copies.
"""
