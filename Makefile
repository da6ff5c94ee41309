# Every target sets up what it needs. `make help` lists them.
SHELL := /bin/bash
.DEFAULT_GOAL := help
DEMO ?= out/demo

.PHONY: help
help: ## list the targets
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | awk -F ':.*## ' '{printf "  make %-10s %s\n", $$1, $$2}'

.PHONY: build
build: ## build bin/sapwell
	go build -trimpath -o bin/sapwell ./cmd/sapwell

.PHONY: demo
demo: build ## plan an invented day: a summary on screen, PDFs in out/demo
	./bin/sapwell demo --out $(DEMO)

.PHONY: tools
tools: ## install the outside programs that tests compare with (Debian; needs root)
	./.ci/tools

.PHONY: test
test: tools ## all tests, with every outside check
	CI=true go test ./...
	CI=true GOOS=js GOARCH=wasm go test -exec "$$(go env GOROOT)/lib/wasm/go_js_wasm_exec" ./engine/...
	@go test -count=1 -v -run 'TestOutsideChecks' ./internal/outside | sed -n '/^outside:/p'

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

.PHONY: fuzz
fuzz: ## every fuzz target for 20 s
	./.ci/fuzz 20s

.PHONY: clean
clean: ## remove what was built
	rm -rf bin out
