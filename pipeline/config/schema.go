package config

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"

	reflected "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"

	"probeward/pipeline/table"
	"probeward/schemas"
)

// Schema gives the JSON Schema (draft 2020-12) of scan.yaml, indented.
func Schema() ([]byte, error) {
	r := reflected.Reflector{Anonymous: true, DoNotReference: true, ExpandedStruct: true}
	s := r.Reflect(&schemas.Config{})
	s.Title = "scan.yaml"
	s.Description = "the configuration of a scan"
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("the schema of the configuration: %w", err)
	}
	return append(data, '\n'), nil
}

var compiled = sync.OnceValues(func() (*jsonschema.Schema, error) {
	data, err := Schema()
	if err != nil {
		return nil, err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("scan.json", doc); err != nil {
		return nil, err
	}
	return c.Compile("scan.json")
})

// conform holds the document against the schema.
func (d *document) conform() error {
	s, err := compiled()
	if err != nil {
		return fmt.Errorf("the schema of the configuration: %w", err)
	}
	err = s.Validate(d.root)
	if invalid, ok := err.(*jsonschema.ValidationError); ok {
		d.violations(s, invalid)
		return nil
	}
	return err
}

// violations puts the leaves of a validation's tree into words.
func (d *document) violations(s *jsonschema.Schema, v *jsonschema.ValidationError) {
	for _, cause := range v.Causes {
		d.violations(s, cause)
	}
	if len(v.Causes) > 0 {
		return
	}
	pointer := ""
	for _, part := range v.InstanceLocation {
		pointer = under(pointer, part)
	}
	switch k := v.ErrorKind.(type) {
	case *kind.AdditionalProperties:
		known := keysAt(s, v.InstanceLocation)
		slices.Sort(k.Properties)
		for _, key := range k.Properties {
			d.sayKey(under(pointer, key), "%s", unknown("key", key, known))
		}
	case *kind.Required:
		for _, key := range k.Missing {
			d.say(pointer, "%s is missing here", key)
		}
	case *kind.Enum:
		want := make([]string, len(k.Want))
		for i, w := range k.Want {
			want[i] = fmt.Sprint(w)
		}
		d.say(pointer, "%q is none of %s%s", fmt.Sprint(k.Got), strings.Join(want, ", "), meant(fmt.Sprint(k.Got), want))
	case *kind.Type:
		d.say(pointer, "this is %s, and %s is wanted", shapeWords(k.Got), shapeWords(k.Want...))
	case *kind.Pattern:
		if len(v.InstanceLocation) != 1 { // the spans have better words in check.go
			d.say(pointer, "%q is not of the form filename[:REGEXP], name:NAME, column:NAME or header:REGEXP", k.Got)
		}
	default:
		out := v.BasicOutput()
		d.say(pointer, "%v", out.Error)
	}
}

// keysAt lists the keys that the schema declares for a place in the instance.
func keysAt(s *jsonschema.Schema, location []string) []string {
	for _, part := range location {
		switch {
		case s == nil:
			return nil
		case s.Properties[part] != nil:
			s = s.Properties[part]
		case s.Items2020 != nil:
			s = s.Items2020
		default:
			s, _ = s.AdditionalProperties.(*jsonschema.Schema)
		}
	}
	if s == nil {
		return nil
	}
	keys := make([]string, 0, len(s.Properties))
	for k := range s.Properties {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// unknown says that a name does not exist, and which does.
func unknown(what, name string, known []string) string {
	near := meant(name, known)
	if near == "" && len(known) > 0 {
		near = "; there are " + strings.Join(known, ", ")
	}
	return fmt.Sprintf("no %s is called %q%s", what, name, near)
}

func meant(name string, known []string) string {
	if near, ok := table.Nearest(name, known); ok {
		return fmt.Sprintf("; was %s meant?", near)
	}
	return ""
}

func shapeWords(types ...string) string {
	words := make([]string, len(types))
	for i, t := range types {
		switch t {
		case "object":
			words[i] = "a block of keys and values"
		case "array":
			words[i] = "a list (each entry on its own line after a -)"
		case "string":
			words[i] = "a single value"
		default:
			words[i] = "a " + t
		}
	}
	return strings.Join(words, " or ")
}
