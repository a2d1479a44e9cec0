# SPDX-License-Identifier: MIT
"""Reads OpenMetrics text with the strict parser of Debian's python3-prometheus-client and prints every sample as a line of
its own: name, labels as in the text, and value."""
import sys

from prometheus_client.openmetrics.parser import text_string_to_metric_families

with open(sys.argv[1], encoding="utf-8") as file:
    for family in text_string_to_metric_families(file.read()):
        for sample in family.samples:
            labels = ",".join(f'{name}="{value}"' for name, value in sample.labels.items())
            print(sample.name + (f"{{{labels}}}" if labels else ""), repr(float(sample.value)))
