"""Mock interviews: asking, timing and scoring a judge's questions."""
