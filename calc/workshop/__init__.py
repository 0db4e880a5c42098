"""What a workshop says of itself, once: equipment, scales, lots, scents, people, habits at the scale, emergency place.

Each class is the declaration of its form; `kinds.KINDS` lists them by the name under which they are stored. Begin
there, and with `scales.scales_of`.
"""
