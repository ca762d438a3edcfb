"""Pages from which the readings behind a number are reached."""

from checks.vocabulary.methods.method import Place

BOARD = Place("reports:board", "Fleet board")
COMPLAINTS = Place("reports:complaints", "Complaints")
COMPLAINT_STUDY = Place("reports:complaint_study", "Do complaints go with travel?")
DUE = Place("reports:due", "See again")
FUEL = Place("reports:fuel", "Fuel")
INSTRUMENTS = Place("checks:instruments", "Instruments")
INTERVALS = Place("reports:intervals", "Are the intervals between checks right?")
LIFE = Place("reports:life", "Life until outside")
MODELS = Place("reports:models", "Drift by model")
RECALLS = Place("checks:recalls", "Recalls")
RESTORED = Place("reports:restored", "Restored units")
REVIEWS = Place("reports:reviews", "Reviews")
STUDIES = Place("checks:studies", "Measurement studies")
WEEKS = Place("reports:weeks", "Depot week")
