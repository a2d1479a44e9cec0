# SPDX-License-Identifier: MIT
.PHONY: check-trixie
check-trixie: ## everything built and unit-tested on Debian 13, and run on its kernel (root)
	@tests/trixie/run kernel
