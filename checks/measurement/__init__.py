"""One check, from indication to verdict. Read the modules in the order of the work.

1. ``specification``  what the wastegate should do, and the rule by which a reading is judged
2. ``units``          what was typed becomes kPa, mm, km, h, exactly
3. ``calibration``    an indication becomes a corrected value
4. ``stroke``         readings become zeros, exercise, approaches, the reading at the setting
5. ``voids``          what makes a stroke worth nothing, one file per condition
6. ``curve``          slope, start of travel, hysteresis, sticking, leak-down
7. ``travel``         travel at the setting stimulus with every source of doubt (``budget`` adds them up)
8. ``bend``           the same where the curve is too bent for first order
9. ``conformity``     probability of being inside, state, acceptance limits, risks
10. ``adjustment``    half turns; ``remarks`` what the verdict does not cover; ``assess`` does all of it in one call
"""
