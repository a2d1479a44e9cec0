# SPDX-License-Identifier: MIT
.PHONY: check-arm64
check-arm64: ## everything built for aarch64, and the unit tests in an emulator of that processor
	@.ci/packages arm64
	@tests/arm64/run
