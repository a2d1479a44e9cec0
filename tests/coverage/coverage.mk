# SPDX-License-Identifier: MIT
# What the unit tests execute of lib/.

.PHONY: coverage
coverage: ## unit tests with counters: lib/core whole, the rest of lib no worse than it was
	@$(MAKE) --no-print-directory COV=1 coverage-run

.PHONY: coverage-run
coverage-run: all $(UNIT_BIN)
	@find $(B)/obj -name '*.gcda' -delete
	@tests/run $(B) unit >$(B)/unit.log || { cat $(B)/unit.log; exit 1; }
	@tail -n 1 $(B)/unit.log
	@tests/coverage/report $(B)
