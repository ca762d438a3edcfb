"""One module per kind of step: ``show`` gives what its screen draws, ``take`` reads what was entered there."""
