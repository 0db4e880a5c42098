"""What a scale can show, what it may be wrong by, and which readings are asked back before they are taken.

Begin with `display.display_of`, `weighing.Scale`, `weighing.choose_scale` and `questions.questions`.
"""
