"""How well the coach hears one member: a passage read aloud, what came of it, and what later reviews make of that."""
