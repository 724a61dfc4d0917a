"""Physics of buildings: numbers and arrays in, numbers and arrays out."""
