"""From a field as the user describes it to everything that has to be built."""
