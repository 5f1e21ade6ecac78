"""What breaks first: members, fasteners, fatigue life, stability and reach, from recorded loads."""
