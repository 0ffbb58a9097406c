"""A balancing machine, a crankshaft and a drill press, simulated: no product code in its physics.

================ =============================================================================================
`holes`          what a drill or a slug takes and brings, by numerical integration
`machine`        what a display shows of a vector and which place a dial number brings under the drill, by turning
                 about the line of sight of whoever reads it
`crankshaft`     fans, throws, a hidden unbalance; what is truly there in the planes
`jobs`           a random crankshaft in a random shop as a job file; spins; printed cuts carried out with errors or slips
`tool`           the program as an operator uses it: command line in, JSON out
================ =============================================================================================

All numbers are drawn at random; no real engine or machine stands behind them.
"""
