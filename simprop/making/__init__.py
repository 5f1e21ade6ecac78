"""What it takes to make a prop: numbered parts, what they are cut from, what to buy."""
