# SPDX-License-Identifier: MIT
# The chip seam of the GPIO backend: one source for libgpiod 2, one for 1.6; the installed version decides.

PACKAGES += libgpiod
ifneq ($(COMPILING),)
GPIOD_MAJOR := $(firstword $(subst ., ,$(shell $(PKG_CONFIG) --modversion libgpiod)))
$(B)/libtripdog.a: $(call obj,lib/lines/gpio/gpiod$(GPIOD_MAJOR).c)
endif
