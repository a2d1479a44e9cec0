/* SPDX-License-Identifier: MIT */
/* The cautions that `describe` tells every client. X("one sentence") */
#ifndef TD_DAEMON_CAUTIONS_H
#define TD_DAEMON_CAUTIONS_H

/* clang-format off */
#define TD_CAUTION_TABLE(X) \
	X("Moving parts pinch and cut: keep fingers, hair and clothes away whenever the machine has power.") \
	X("Software is no substitute for a wired emergency stop that cuts motor power by itself.") \
	X("The latched stop of this program is not an emergency stop, and this program is not a certified " \
	  "safety device.") \
	X("A wrong supply burns boards and motors: fuse it, and check voltage and polarity before " \
	  "connecting.") \
	X("Batteries burn: use a charger and a protection made for them, and do not leave them alone while " \
	  "charging.") \
	X("Local codes and licensed practice come first.")
/* clang-format on */

#endif
