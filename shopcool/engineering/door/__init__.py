"""The door for people: every computation from the shell, with units.

A computation is one module and one line in :mod:`shopcool.engineering.door.registry`. Names and kinds of the
options come from the function's own parameters: ``low_pressure_pa: float`` becomes ``--low-pressure`` and
takes a pressure.
"""
