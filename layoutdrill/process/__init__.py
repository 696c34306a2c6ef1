"""A fabrication process as data: one YAML file each under `data/`, and the model beside them."""

from layoutdrill.process.load import load_process, process_names
from layoutdrill.process.model import Process

__all__ = ["Process", "load_process", "process_names"]
