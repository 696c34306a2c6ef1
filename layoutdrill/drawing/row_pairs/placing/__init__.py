"""Which device stands where: what the seed chooses, forms of channels, pairs, their order, their columns."""
