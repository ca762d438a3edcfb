"""The demonstration: an invented carrier with 24 months of checks and a truth that is written down.

``mechanics``    how an actuator moves: spring, preload, friction, leak
``instruments``  what an instrument shows of what is there, and what its certificates say
``strokes``      a technician's hands: the readings of one stroke, as typed
``cast``         depots, people, models, and everything that was planted
``thirsts``      what was planted about fuel, and who stood outside for long
``toolroom``     the instruments of the depots, one of which took a blow
``fleet``        trucks, units and fitments; ``builder`` makes them
``choice``       what a technician decides: instruments, and what to do after the reading
``history``      two years of checks, complaints and meter readings, day by day, kept as ``events``
``trips``        two years of trips, with a known physics of fuel
``truth``        what a visitor may find, as a file
``load``         the scenario into the database, with ``register``, ``tools`` and ``fuel``
``mark``         the row by which the pages know a demonstration
``bench``        a large plain fleet for benchmarks

All before ``load`` is pure. Days count from a Monday: day 0 is the last Monday, day -1 the Sunday
before it. The same seed gives the same two years, since every draw comes from a stream of its own
(``streams``).
"""
