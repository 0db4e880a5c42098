"""A scale whose display has a serial port: read here, shown live on the phones.

`frames` reads what comes, `judge` says what of it is told, `line` has the port, `kept` which scale hangs where, `trial`
finds out how one speaks, and `speaking` tells the phones.
"""
