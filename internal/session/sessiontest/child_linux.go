package sessiontest

import (
	"os/exec"
	"syscall"
)

// Tie ends a child with the test's process, even when that has no time to
// clean up, as after a panic or a time limit.
func Tie(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} }
