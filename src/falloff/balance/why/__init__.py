"""why(complaint) -> Why: what is wrong with a picture, from what cause, and the cheapest cure.

From the plan: `scene` and `light` (what is traced), `plan` (which questions), `causes`, `cures`;
one module for each kind of complaint (`eyes`, `beam`, `jump`, `window` ...). From readings with
lights on and off alone: `onoff`. `records` is what is told.
"""
