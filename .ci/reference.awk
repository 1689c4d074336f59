# For Doxygen: the comment that a header opens with, after #pragma once, becomes what is said of the file. `#pragma once` itself gives way to
# "@file", so that lines keep their numbers.
NR == 1 && /^#pragma once/ { print "/// @file"; top = 1; next }
top && /^$/ && !begun { print "///"; next }
top && /^\/\/( |$)/ { begun = 1; sub(/^\/\//, "///"); gsub(/<[a-z]+\/>/, "`&`"); print; next }
{ top = 0; print }
