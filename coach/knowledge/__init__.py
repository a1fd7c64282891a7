"""What the coach knows: breed cards, birds and routes, read from YAML files and checked line by line."""
