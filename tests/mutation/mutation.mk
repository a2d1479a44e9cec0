# SPDX-License-Identifier: MIT
N ?= 400
SEED ?= 1

.PHONY: mutation
mutation: ## faults put into lib/core, N=400 by SEED=1 (N=0: all); the unit tests have to notice them
	@tests/mutation/run --count $(N) --seed $(SEED) $(if $(ONLY),--only $(ONLY))
