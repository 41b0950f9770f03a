"""Validation cases: small models with known answers, run and compared.

The cases are data, one file each in ``cases/validation``; see
:mod:`fea.document.validation` for what a file may hold.
"""

from fea.verify.find import validation_folder
from fea.verify.run import CaseResult, as_json, run_all, run_case

__all__ = ["CaseResult", "as_json", "run_all", "run_case", "validation_folder"]
