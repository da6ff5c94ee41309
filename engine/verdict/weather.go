package verdict

import (
	"math"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// weatherRules: is it too hot, too cold, too dry? The label's own limit binds;
// without one, published heat and drought cautions are passed on.
func weatherRules() []Rule {
	return []Rule{
		{Code: "weather.too_hot", Source: why.TheLabel, Check: tooHot},
		{Code: "weather.too_cold", Source: why.TheLabel, Check: tooCold},
		{Code: "weather.hot", Source: why.Phytosphere, Check: hot},
		{Code: "weather.air_unknown", Source: why.TheLabel, Open: true, Check: airUnknown},
		{Code: "weather.soil_dry", Source: why.TheLabel, Check: soilDry},
		{Code: "weather.drought", Source: why.Phytosphere, Check: drought},
		{Code: "weather.soil_unknown", Source: why.TheLabel, Open: true, Check: soilUnknown},
		{Code: "weather.rain", Source: why.TheLabel, Open: true, Check: rain},
	}
}

// hotter compares to a tenth of a degree: finer than any field thermometer, and
// coarser than what 90 °F loses on its way to kelvin and back.
func hotter(a, b quantity.Temperature) bool { return tenths(a) > tenths(b) }

func tenths(t quantity.Temperature) int64 { return int64(math.Round(t.Celsius() * 10)) }

func tooHot(c Case) []why.Finding {
	most := c.Label.Conditions.AirMax
	if c.Air == nil || most == nil || !hotter(*c.Air, *most) {
		return nil
	}
	return report(why.Block, "air", why.T("air", *c.Air), why.T("air_max", *most))
}

func tooCold(c Case) []why.Finding {
	least := c.Label.Conditions.AirMin
	if c.Air == nil || least == nil || !hotter(*least, *c.Air) {
		return nil
	}
	return report(why.Block, "air", why.T("air", *c.Air), why.T("air_min", *least))
}

// hot: the published caution is 32 °C, rounded there from or to 90 °F. A label
// that states its own limit has spoken.
func hot(c Case) []why.Finding {
	if c.Air == nil || c.Label.Conditions.AirMax != nil || !hotter(*c.Air, quantity.Celsius(32)) {
		return nil
	}
	return report(why.Warn, "air", why.T("air", *c.Air))
}

func airUnknown(c Case) []why.Finding {
	if c.Air == nil {
		return report(why.Ask, "air")
	}
	return nil
}

func soilDry(c Case) []why.Finding {
	if c.Label.Conditions.MoistSoil && c.Drought == Yes {
		return report(why.Block, "drought")
	}
	return nil
}

// drought: leaf scorch follows injection under severe drought.
func drought(c Case) []why.Finding {
	if !c.Label.Conditions.MoistSoil && c.Drought == Yes {
		return report(why.Warn, "drought")
	}
	return nil
}

func soilUnknown(c Case) []why.Finding {
	if c.Drought == Unknown {
		return report(why.Ask, "drought")
	}
	return nil
}

// rain is seen on the day; no fact of the case holds it.
func rain(c Case) []why.Finding {
	if c.Label.Conditions.NotInRain {
		return report(why.Ask, "conditions.not_in_rain")
	}
	return nil
}
