"""The water side of a job: sources, pumps, runs, heaters and outlets, solved for each way they are connected.

Calls physics and hot_water; reads a job as plain values.
"""
