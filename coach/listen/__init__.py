"""From sound to timed words, and weighing rival wordings against the sound."""
