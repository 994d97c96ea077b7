//go:build !linux && !darwin

package main

import "errors"

// freeOf is not known here.
func freeOf(string) (int64, error) { return 0, errors.ErrUnsupported }
