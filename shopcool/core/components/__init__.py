"""The parts that every page is made of: template tags by noun, each with its template of the same name.

A new component is one template in ``templates/components``, one tag in a module here, and one sample in the
style guide; ``tests/core/test_components.py`` fails when one of the three is missing.
"""
