"""One function per question a builder asks: Design in, frozen result out."""
