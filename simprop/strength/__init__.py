"""What breaks first: members, fasteners, wear, stability and reach, from recorded loads."""
