"""The visit to a unit: the guided test, the air setting, the remedy with its retest, and the record of it all."""
