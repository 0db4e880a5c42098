"""What the shop server holds at most, each with its reason. One place: engine, door, service and tests read it here."""

from __future__ import annotations

KIB, MIB, GIB = 1024, 1024**2, 1024**3

# One event at most. A phone reads this off the engine's greeting before it sends, since what is larger costs it the
# connection.
MAX_PAYLOAD = MIB
# How many messages one phone may keep in the mailbox: a busy year of one phone is far below. Its bytes are bounded by
# STREAM_BYTES alone, so one phone can take the others' room.
EVENTS_PER_PHONE = 200_000
# All events of all phones: as much as a copy may be that the app takes in. The engine refuses new ones beyond it and drops
# none.
STREAM_BYTES = 2 * GIB
# What was sent again within it counts once in the mailbox. Later it lies there twice, and merging by id makes it one.
DUPLICATES_WITHIN_S = 600

# Phones that belong at one time: each has an account of the engine's, and these are fixed for a run of it.
PHONES = 100
# One phone's, and those of who comes to be paired: a tab that takes over from another, and what a lost Wi-Fi left behind.
CONNECTIONS_EACH = 4
# So many that no phone takes another's.
CONNECTIONS = CONNECTIONS_EACH * (PHONES + 2)
# What one phone listens to is counted on two hands; its answers come to one inbox.
SUBSCRIPTIONS = 32
# What waits for a phone that reads slowly, until the engine cuts it off. [bytes]
PENDING = 16 * MIB
# Who has said nothing by then is no phone of ours; a slow one at the edge of the Wi-Fi needs a while. [s]
GREETING_WITHIN_S = 10
# A phone that went out of range is gone from the list after three of these. [s]
PING_EVERY_S = 15

# A secret for pairing: 160 bits, since whoever has it may ask to belong; and no longer than it takes to walk to the laptop.
SECRET_BYTES = 20
SECRET_HOLDS_S = 600
# What a person calls a phone. [characters]
NAME_LENGTH = 40

# Below this much free disk the server doesn't start, and says so in its status. [bytes]
DISK_LEAST = 500 * MIB
# One generation of copies a day; the oldest of three goes last.
COPY_EVERY_S = 24 * 3600
COPIES_KEPT = 3
