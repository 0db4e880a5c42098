"""The shop server: one workshop's phones, one computer in it, no internet. Begin with `run.py`.

Phones keep the truth. What is here is a mailbox between them, run by two programs that are fetched: an engine for messages
(`engine.py`) and a door with HTTPS (`door.py`). Of its own it has only who belongs to the workshop (`phones.py`), how one
comes to belong (`pairing.py`, `service.py`), and the authority that phones trust the door by (`authority.py`).
"""
