"""What is to be done at the scale, in order, as it is frozen with a sheet, in words of both languages.

Begin with `order_of_work.weigh_steps`; `step.WeighStep` is the shape of one of them.
"""
