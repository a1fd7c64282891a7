"""Reading: how likely it is, word by word, that a statement is being told, however it is worded."""
