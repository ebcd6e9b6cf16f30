// Command mkdetector keeps what is generated about detectors: the list
// (detectors/all.go) and the manual (detectors/MANUAL.md), both from the folders
// that there are; and it lays out the folder of a new one.
//
//	mkdetector            writes the list and the manual anew
//	mkdetector NAME       lays out detectors/NAME and writes both anew
package main

import (
	"fmt"
	"os"
)

func main() {
	if err := run(".", os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "mkdetector:", err)
		os.Exit(1)
	}
}

func run(root string, args []string) error {
	if len(args) > 1 {
		return fmt.Errorf("one fault's name at most, as in the table of faults")
	}
	if len(args) == 1 {
		if err := layOut(root, args[0]); err != nil {
			return err
		}
	}
	for name, text := range map[string]func(string) ([]byte, error){listFile: list, manualFile: manual} {
		b, err := text(root)
		if err != nil {
			return err
		}
		if err := os.WriteFile(name, b, 0o644); err != nil {
			return err
		}
	}
	return nil
}
