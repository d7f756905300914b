"""Published tables with their sources, metals, the learner's lists, loggers' files, saving. Imports from: units."""

from cellkit.tables.metals import HYDRATES, METALS
from cellkit.tables.published import FARADAY, GAS, composition, data_path, find_file, molar_mass, table
