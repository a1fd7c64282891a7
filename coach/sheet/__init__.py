"""Study sheets: one printable page from head to tail, what to name, check and say of one's own bird."""
