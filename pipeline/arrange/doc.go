// Package arrange brings readings from the order in which loggers and downloads
// wrote them into the order in which a probe lived them: by probe, in time order,
// each stamp once. It also settles what the run looks at (the period), and books
// every reading that it does not hand on as repeated or rejected.
package arrange

import "math"

var nan32 = float32(math.NaN())
