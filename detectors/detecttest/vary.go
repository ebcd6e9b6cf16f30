package detecttest

import (
	"math"
	"slices"

	"probeward/detectors/detect"
)

func copySeries(s *detect.Series) detect.Series {
	return detect.Series{
		Time: slices.Clone(s.Time), Value: slices.Clone(s.Value), Temperature: slices.Clone(s.Temperature),
		Battery: slices.Clone(s.Battery), Blank: slices.Clone(s.Blank), Coded: slices.Clone(s.Coded),
	}
}

// undeclared gives the context with everything changed that the detector does not
// declare.
func undeclared(d *detect.Detector, s *section) *detect.Context {
	declared := d.Needs | d.Uses
	ctx := s.ctx
	if declared&detect.NeedIrrigation == 0 {
		ctx.Irrigation, ctx.HasIrrigation = nil, !ctx.HasIrrigation
	}
	if declared&detect.NeedRain == 0 {
		ctx.Rain, ctx.HasRain = nil, !ctx.HasRain
	}
	if declared&detect.NeedDemand == 0 {
		ctx.Demand, ctx.HasDemand = nil, !ctx.HasDemand
	}
	if declared&detect.NeedScaleEnd == 0 {
		ctx.ScaleEnd = detect.Some(math.Pi)
	}
	return &ctx
}

// undeclaredProbe does the same for the register's facts. A tensiometer's depth is
// part of its limits, so it stays.
func undeclaredProbe(d *detect.Detector, s *section) *detect.Probe {
	declared := d.Needs | d.Uses
	p := s.probe
	if declared&detect.NeedTexture == 0 {
		p.Texture = "clay"
	}
	if declared&detect.NeedInstalledOn == 0 {
		p.InstalledOn = detect.Some(int64(0))
	}
	if declared&detect.NeedDepth == 0 && p.Kind != detect.Tensiometer {
		p.DepthCM = detect.Some(17.0)
	}
	return &p
}

func shiftTimes(t []int64, by int64) []int64 {
	out := slices.Clone(t)
	for i := range out {
		out[i] += by
	}
	return out
}

func shiftSeries(s *detect.Series, by int64) *detect.Series {
	out := copySeries(s)
	out.Time, out.Blank = shiftTimes(s.Time, by), shiftTimes(s.Blank, by)
	for i := range out.Coded {
		out.Coded[i].Time += by
	}
	return &out
}

func shiftContext(c *detect.Context, by int64) *detect.Context {
	out := *c
	out.Irrigation, out.Rain, out.Demand = slices.Clone(c.Irrigation), slices.Clone(c.Rain), slices.Clone(c.Demand)
	for i := range out.Irrigation {
		out.Irrigation[i].Span = shiftSpan(out.Irrigation[i].Span, by)
	}
	for i := range out.Rain {
		out.Rain[i].Span = shiftSpan(out.Rain[i].Span, by)
	}
	for i := range out.Demand {
		out.Demand[i].Span = shiftSpan(out.Demand[i].Span, by)
	}
	return &out
}

func shiftSpan(s detect.Span, by int64) detect.Span {
	if s.Start != math.MinInt64 {
		s.Start += by
	}
	if s.End != math.MaxInt64 {
		s.End += by
	}
	return s
}

func shiftProbe(p *detect.Probe, by int64) *detect.Probe {
	out := *p
	out.Wirings = slices.Clone(p.Wirings)
	for i := range out.Wirings {
		out.Wirings[i].Span = shiftSpan(out.Wirings[i].Span, by)
	}
	if p.InstalledOn.OK {
		out.InstalledOn.V += by
	}
	if p.RemovedOn.OK {
		out.RemovedOn.V += by
	}
	return &out
}

func shiftPeriod(p detect.Period, by int64) detect.Period {
	return detect.Period{Window: shiftSpan(p.Window, by), Lookback: p.Lookback + by}
}

func shifted(o detect.Outcome, by int64) detect.Outcome {
	for i := range o.Findings {
		o.Findings[i].Start += by
		o.Findings[i].End += by
	}
	return o
}
