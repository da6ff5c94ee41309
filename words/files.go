//go:build !js

package words

import "embed"

//go:embed */*.json
var files embed.FS
