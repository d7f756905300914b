"""Published tables with their sources, the learner's lists, loggers' files, saving. Imports from: units."""

from cellkit.tables.published import FARADAY, GAS, METALS, composition, data_path, find_file, molar_mass, table

__all__ = ["FARADAY", "GAS", "METALS", "composition", "data_path", "find_file", "molar_mass", "table"]
