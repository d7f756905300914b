"""What is planned: a design, all constructions side by side, a review, a bill. Imports from: cells and before."""

from cellkit.designs.comparison import RULE_OF_THREE, Comparison, compare, in_words, specific_energy_map
from cellkit.designs.cost import bill, cost_per_energy, read_prices
from cellkit.designs.design import CONSTRUCTIONS, Design, read_design
from cellkit.designs.review import Review, mended, reviews
