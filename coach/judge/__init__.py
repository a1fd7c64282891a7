"""From timed words to verdicts: sounds, spotting, questions to the listener, deciding, regions, delivery."""
