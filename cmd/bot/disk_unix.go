//go:build linux || darwin

package main

import "syscall"

// freeOf is how many bytes a folder's disk has left for this user.
func freeOf(folder string) (int64, error) {
	var s syscall.Statfs_t
	err := syscall.Statfs(folder, &s)
	return int64(s.Bavail) * int64(s.Bsize), err
}
