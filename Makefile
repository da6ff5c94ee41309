# Every target sets up what it needs. `make help` lists them.
SHELL := /bin/bash
.DEFAULT_GOAL := help
DEMO ?= out/demo
CHECKER := cmd/sapwell/checker/check.wasm.gz

.PHONY: help
help: ## list the targets
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | awk -F ':.*## ' '{printf "  make %-10s %s\n", $$1, $$2}'

.PHONY: build
build: $(CHECKER) ## build bin/sapwell
	go build -trimpath -o bin/sapwell ./cmd/sapwell

# What lets an inspector's folder check itself in a browser.
$(CHECKER): $(wildcard cmd/sapwell-check/*.go dossier/*.go journal/*.go) go.mod
	GOOS=js GOARCH=wasm go build -trimpath -ldflags '-s -w' -o $(@:.gz=) ./cmd/sapwell-check
	gzip -9nf $(@:.gz=)
	cp "$$(go env GOROOT)/lib/wasm/wasm_exec.js" $(@D)/wasm_exec.js

# The app is built anew when anything that it is made of has changed.
WASM := web/src/engine/built
APP := web/dist/index.html
GO_FILES := $(shell find . -name node_modules -prune -o -path ./out -prune -o -name '*.go' ! -name '*_test.go' -print)
WORDS := $(wildcard words/*/*.json)
SAID := $(filter-out %/app.json %/office.json %/server.json %/door.json %/tools.json %/documents.json %/papers.json,$(WORDS))
WEB_FILES := $(shell find web/src web/public -type f ! -path '*/built/*') $(wildcard web/*.ts web/*.js web/*.mjs web/*.html web/package-lock.json)

# $(call wasm,NAME,TAGS) builds one engine for browsers. With functions inlined it would
# be twice as fast and a tenth more to load; those of the runtime give most for least.
define wasm
	GOOS=js GOARCH=wasm go build -trimpath -tags '$(2)' -gcflags=all=-l -gcflags=runtime= -ldflags '-s -w' -o $(WASM)/whole.wasm ./cmd/sapwell-wasm
	go run ./internal/slim $(WASM)/whole.wasm $(WASM)/$(1).wasm
	@rm $(WASM)/whole.wasm
endef

.PHONY: engine
engine: $(WASM)/engine.wasm ## build the engine for the browser

$(WASM)/engine.wasm: $(GO_FILES) $(SAID) go.mod
	$(call wasm,engine,)
	$(call wasm,desk,desk)
	cp "$$(go env GOROOT)/lib/wasm/wasm_exec.js" $(WASM)/wasm_exec.js
	@touch $@

web/node_modules web/audit/node_modules: %/node_modules: %/package-lock.json
	cd $* && npm ci --no-audit --no-fund
	@touch $@

.PHONY: web
web: $(APP) ## build the app, which build then puts into the program

$(APP): $(WASM)/engine.wasm $(WEB_FILES) $(WORDS) | web/node_modules
	cd web && npm run build

.PHONY: app
app:
	@if command -v npm >/dev/null; then $(MAKE) --no-print-directory web; \
	else echo 'npm is not here, so there will be no app: the program shows its plain pages.'; fi

.PHONY: demo
demo: app ## plan an invented day, fill a store with it and serve it with the app (Ctrl-C ends it)
	@$(MAKE) --no-print-directory build
	./bin/sapwell demo --out $(DEMO) $(ARGS)

.PHONY: tools
tools: ## install the outside programs that tests compare with (Debian; needs root)
	./.ci/tools

.PHONY: test
test: tools ## all tests, with every outside check
	./.ci/test

.PHONY: quick
quick: ## tests only, without installing anything; missing programs skip
	go test ./...

.PHONY: check
check: ## formatting and vet
	@test -z "$$(gofmt -l .)" || { gofmt -l .; echo 'run gofmt -w on these'; exit 1; }
	go vet ./...

.PHONY: bench
bench: ## benchmarks (takes a few minutes)
	go test -run xxx -bench . -benchmem ./...

# It has a lock of its own: parts of Lighthouse ask for the "latest" of others, which is
# overruled there.
.PHONY: audit
audit: app build web/audit/node_modules ## Lighthouse on the main screens (about 3 min; wants a machine that does nothing else)
	node web/audit/audit.mjs

.PHONY: compare
compare: tools ## speed beside HiGHS on three rings (about 20 s)
	CI=true SAPWELL_COMPARE=1 go test -count=1 -v -run '^TestSpeedAgainstHiGHS$$' ./engine/marks

.PHONY: fuzz
fuzz: ## every fuzz target for 20 s
	./.ci/fuzz 20s

.PHONY: torture
torture: tools ## long forms: kills, full disks, flips, histories; every fuzz target for 60 s (hours)
	./.ci/torture

.PHONY: clean
clean: ## remove what was built
	rm -rf bin out
