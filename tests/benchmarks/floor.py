"""The floor every check is held against: import the three packages, load the workbook, save it."""

import sys

import networkx  # noqa: F401
import openpyxl
import pandas  # noqa: F401

workbook = openpyxl.load_workbook(sys.argv[1])
workbook.save(sys.argv[2])
