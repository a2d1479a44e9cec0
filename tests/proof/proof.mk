# SPDX-License-Identifier: MIT
.PHONY: proof
proof: ## the core proven by a model checker, in the Debian 13 tree (root)
	@tests/proof/run

.PHONY: proof-faults
proof-faults: ## a deliberate fault for every rule: the proof has to fail for each (root)
	@tests/proof/faults/run
