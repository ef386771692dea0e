"""An invented vineyard contractor's fleet: three sheets and three jobs to show and to try the program on."""
