// Command sapwell plans trunk micro-injection: it reads lists of trees and
// product labels and prints what an applicator needs at the tree.
package main

func main() {}
