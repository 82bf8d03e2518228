"""Thousands of logs: found, analysed one a task, kept, put into a data set, and judged together.

places -> Log -> Task -> FleetLog -> data set -> Fleet
          sources task  in_process   table       assess
                        or cluster
"""
