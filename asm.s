	.file	"<string>"
	.section	.ltext,"axl",@progbits
	.globl	_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx
	.p2align	4
	.type	_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx,@function
_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx:
	.cfi_startproc
	movq	120(%rsp), %rcx
	movq	80(%rsp), %rax
	testq	%rcx, %rcx
	jle	.LBB0_1
	movq	8(%rsp), %rdx
	vxorpd	%xmm1, %xmm1, %xmm1
	vxorpd	%xmm0, %xmm0, %xmm0
	jmp	.LBB0_5
	.p2align	4
.LBB0_2:
	decq	%rcx
	jle	.LBB0_3
.LBB0_5:
	movl	$448, %esi
	.p2align	4
.LBB0_6:
	vmovupd	128(%rax), %zmm5
	vmovupd	-448(%rdx,%rsi), %zmm7
	vmovupd	(%rax), %zmm3
	vmovupd	256(%rax), %zmm2
	vmovupd	192(%rax), %zmm6
	vmovupd	-384(%rdx,%rsi), %zmm8
	vmovupd	64(%rax), %zmm4
	vmovupd	-320(%rdx,%rsi), %zmm9
	vmovupd	-256(%rdx,%rsi), %zmm10
	vmulpd	%zmm7, %zmm5, %zmm13
	vmulpd	%zmm7, %zmm3, %zmm11
	vmulpd	%zmm8, %zmm5, %zmm12
	vmulpd	%zmm9, %zmm5, %zmm5
	vfmadd231pd	%zmm2, %zmm6, %zmm13
	vfmadd231pd	%zmm4, %zmm2, %zmm11
	vaddpd	%zmm1, %zmm7, %zmm2
	vmulpd	%zmm8, %zmm3, %zmm7
	vaddpd	%zmm8, %zmm2, %zmm2
	vmulpd	%zmm9, %zmm3, %zmm8
	vmulpd	%zmm10, %zmm3, %zmm3
	vfmadd231pd	%zmm13, %zmm6, %zmm12
	vfmadd231pd	%zmm13, %zmm4, %zmm7
	vmovupd	%zmm11, -448(%rdx,%rsi)
	vaddpd	%zmm9, %zmm2, %zmm2
	vfmadd231pd	%zmm12, %zmm6, %zmm5
	vfmadd231pd	%zmm12, %zmm4, %zmm8
	vmovupd	%zmm7, -384(%rdx,%rsi)
	vaddpd	%zmm10, %zmm2, %zmm2
	vfmadd231pd	%zmm5, %zmm4, %zmm3
	vaddpd	%zmm2, %zmm0, %zmm0
	vmovupd	%zmm8, -320(%rdx,%rsi)
	vmovupd	%zmm3, -256(%rdx,%rsi)
	cmpq	$5056, %rsi
	je	.LBB0_2
	vmovupd	128(%rax), %zmm5
	vmovupd	-192(%rdx,%rsi), %zmm7
	vmovupd	256(%rax), %zmm2
	vmovupd	192(%rax), %zmm6
	vmovupd	(%rax), %zmm3
	vmovupd	-128(%rdx,%rsi), %zmm8
	vmovupd	64(%rax), %zmm4
	vmovupd	-64(%rdx,%rsi), %zmm9
	vmovupd	(%rdx,%rsi), %zmm10
	vmulpd	%zmm7, %zmm5, %zmm13
	vmulpd	%zmm7, %zmm3, %zmm11
	vmulpd	%zmm8, %zmm5, %zmm12
	vmulpd	%zmm9, %zmm5, %zmm5
	vfmadd231pd	%zmm2, %zmm6, %zmm13
	vfmadd231pd	%zmm4, %zmm2, %zmm11
	vaddpd	%zmm1, %zmm7, %zmm2
	vmulpd	%zmm8, %zmm3, %zmm7
	vaddpd	%zmm8, %zmm2, %zmm2
	vmulpd	%zmm9, %zmm3, %zmm8
	vmulpd	%zmm10, %zmm3, %zmm3
	vfmadd231pd	%zmm13, %zmm6, %zmm12
	vfmadd231pd	%zmm13, %zmm4, %zmm7
	vmovupd	%zmm11, -192(%rdx,%rsi)
	vaddpd	%zmm9, %zmm2, %zmm2
	vfmadd231pd	%zmm12, %zmm6, %zmm5
	vfmadd231pd	%zmm12, %zmm4, %zmm8
	vmovupd	%zmm7, -128(%rdx,%rsi)
	vaddpd	%zmm10, %zmm2, %zmm2
	vfmadd231pd	%zmm5, %zmm4, %zmm3
	vmovupd	%zmm8, -64(%rdx,%rsi)
	vaddpd	%zmm2, %zmm0, %zmm0
	vmovupd	%zmm3, (%rdx,%rsi)
	addq	$512, %rsi
	jmp	.LBB0_6
.LBB0_1:
	vxorpd	%xmm0, %xmm0, %xmm0
.LBB0_3:
	vmovupd	%zmm0, 320(%rax)
	xorl	%eax, %eax
	movq	$0, (%rdi)
	vzeroupper
	retq
.Lfunc_end0:
	.size	_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx, .Lfunc_end0-_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx
	.cfi_endproc

	.globl	_ZN7cpython8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx
	.p2align	4
	.type	_ZN7cpython8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx,@function
_ZN7cpython8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx:
	.cfi_startproc
	pushq	%rbp
	.cfi_def_cfa_offset 16
	pushq	%r15
	.cfi_def_cfa_offset 24
	pushq	%r14
	.cfi_def_cfa_offset 32
	pushq	%r13
	.cfi_def_cfa_offset 40
	pushq	%r12
	.cfi_def_cfa_offset 48
	pushq	%rbx
	.cfi_def_cfa_offset 56
	subq	$312, %rsp
	.cfi_def_cfa_offset 368
	.cfi_offset %rbx, -56
	.cfi_offset %r12, -48
	.cfi_offset %r13, -40
	.cfi_offset %r14, -32
	.cfi_offset %r15, -24
	.cfi_offset %rbp, -16
	movq	%rsi, %rdi
	leaq	128(%rsp), %rax
	movabsq	$.const.many, %rsi
	movabsq	$PyArg_UnpackTuple, %r10
	leaq	144(%rsp), %r8
	leaq	136(%rsp), %r9
	movl	$3, %edx
	movl	$3, %ecx
	xorl	%ebx, %ebx
	movq	%rax, (%rsp)
	xorl	%eax, %eax
	callq	*%r10
	testl	%eax, %eax
	je	.LBB1_10
	movabsq	$_ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx, %rax
	cmpq	$0, (%rax)
	je	.LBB1_15
	movq	144(%rsp), %rdi
	movabsq	$NRT_adapt_ndarray_from_python, %r14
	leaq	240(%rsp), %rsi
	vxorps	%xmm0, %xmm0, %xmm0
	vmovups	%zmm0, 240(%rsp)
	movq	$0, 304(%rsp)
	vzeroupper
	callq	*%r14
	cmpq	$8, 264(%rsp)
	setne	%cl
	testl	%eax, %eax
	setne	%bl
	orb	%cl, %bl
	cmpb	$1, %bl
	je	.LBB1_16
	testb	%bl, %bl
	jne	.LBB1_17
.LBB1_4:
	movq	136(%rsp), %rdi
	movq	240(%rsp), %rbx
	movq	272(%rsp), %r13
	leaq	160(%rsp), %rsi
	vxorps	%xmm0, %xmm0, %xmm0
	vmovups	%zmm0, 160(%rsp)
	movq	$0, 224(%rsp)
	vzeroupper
	callq	*%r14
	cmpq	$8, 184(%rsp)
	setne	%cl
	testl	%eax, %eax
	setne	%bpl
	orb	%cl, %bpl
	jne	.LBB1_18
	testb	%bpl, %bpl
	jne	.LBB1_21
.LBB1_6:
	movq	128(%rsp), %rdi
	movq	160(%rsp), %r14
	movq	192(%rsp), %rbp
	movabsq	$PyNumber_Long, %rax
	callq	*%rax
	testq	%rax, %rax
	je	.LBB1_19
	movq	%rax, %r12
	movabsq	$PyLong_AsLongLong, %rax
	movq	%r12, %rdi
	callq	*%rax
	movq	%rax, %r15
	movabsq	$Py_DecRef, %rax
	movq	%r12, %rdi
	callq	*%rax
	movabsq	$PyErr_Occurred, %rax
	callq	*%rax
	testq	%rax, %rax
	jne	.LBB1_20
.LBB1_8:
	movabsq	$PyEval_SaveThread, %rax
	callq	*%rax
	movq	%rax, %r12
	movabsq	$_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx, %rax
	leaq	152(%rsp), %rdi
	movq	%rbx, %rdx
	movq	%r15, 112(%rsp)
	movq	%rbp, 72(%rsp)
	movq	%r14, 40(%rsp)
	movq	%r13, (%rsp)
	callq	*%rax
	movabsq	$PyEval_RestoreThread, %r13
	movq	%r12, %rdi
	movl	%eax, %ebp
	callq	*%r13
	movabsq	$NRT_decref, %r15
	movq	%rbx, %rdi
	callq	*%r15
	movq	%r14, %rdi
	callq	*%r15
	testl	%ebp, %ebp
	jne	.LBB1_11
	movabsq	$_Py_NoneStruct, %rbx
	movabsq	$Py_IncRef, %rax
	movq	%rbx, %rdi
	callq	*%rax
.LBB1_10:
	movq	%rbx, %rax
	addq	$312, %rsp
	.cfi_def_cfa_offset 56
	popq	%rbx
	.cfi_def_cfa_offset 48
	popq	%r12
	.cfi_def_cfa_offset 40
	popq	%r13
	.cfi_def_cfa_offset 32
	popq	%r14
	.cfi_def_cfa_offset 24
	popq	%r15
	.cfi_def_cfa_offset 16
	popq	%rbp
	.cfi_def_cfa_offset 8
	retq
.LBB1_11:
	.cfi_def_cfa_offset 368
	jg	.LBB1_26
	cmpl	$-1, %ebp
	je	.LBB1_17
	cmpl	$-3, %ebp
	jne	.LBB1_24
	movabsq	$PyExc_StopIteration, %rdi
	movabsq	$PyErr_SetNone, %rax
	jmp	.LBB1_22
.LBB1_15:
	movabsq	$PyExc_RuntimeError, %rdi
	movabsq	$".const.missing Environment: _ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx", %rsi
	jmp	.LBB1_25
.LBB1_16:
	movabsq	$PyExc_TypeError, %rdi
	movabsq	$".const.can't unbox array from PyObject into native value.  The object maybe of a different type", %rsi
	movabsq	$PyErr_SetString, %rax
	callq	*%rax
	testb	%bl, %bl
	je	.LBB1_4
	jmp	.LBB1_17
.LBB1_18:
	movabsq	$PyExc_TypeError, %rdi
	movabsq	$".const.can't unbox array from PyObject into native value.  The object maybe of a different type", %rsi
	movabsq	$PyErr_SetString, %rax
	callq	*%rax
	testb	%bpl, %bpl
	je	.LBB1_6
	jmp	.LBB1_21
.LBB1_19:
	xorl	%r15d, %r15d
	movabsq	$PyErr_Occurred, %rax
	callq	*%rax
	testq	%rax, %rax
	je	.LBB1_8
.LBB1_20:
	movabsq	$NRT_decref, %rax
	movq	%r14, %rdi
	callq	*%rax
.LBB1_21:
	movabsq	$NRT_decref, %rax
	movq	%rbx, %rdi
.LBB1_22:
	callq	*%rax
.LBB1_17:
	xorl	%ebx, %ebx
	jmp	.LBB1_10
.LBB1_24:
	movabsq	$PyExc_SystemError, %rdi
	movabsq	$".const.unknown error when calling native function", %rsi
.LBB1_25:
	movabsq	$PyErr_SetString, %rax
	callq	*%rax
	xorl	%ebx, %ebx
	jmp	.LBB1_10
.LBB1_26:
	movabsq	$PyErr_Clear, %rax
	callq	*%rax
.Lfunc_end1:
	.size	_ZN7cpython8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx, .Lfunc_end1-_ZN7cpython8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx
	.cfi_endproc

	.globl	cfunc._ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx
	.p2align	4
	.type	cfunc._ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx,@function
cfunc._ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx:
	.cfi_startproc
	pushq	%r14
	.cfi_def_cfa_offset 16
	pushq	%rbx
	.cfi_def_cfa_offset 24
	subq	$136, %rsp
	.cfi_def_cfa_offset 160
	.cfi_offset %rbx, -24
	.cfi_offset %r14, -16
	movq	184(%rsp), %rax
	movq	216(%rsp), %rcx
	movq	256(%rsp), %rsi
	movq	%rdi, %rdx
	leaq	128(%rsp), %rdi
	movq	$0, 128(%rsp)
	movq	%r8, (%rsp)
	movq	%rax, 40(%rsp)
	movabsq	$_ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx, %rax
	movq	%rsi, 112(%rsp)
	movq	%rcx, 72(%rsp)
	callq	*%rax
	movq	128(%rsp), %rcx
	movl	$0, 124(%rsp)
	testl	%eax, %eax
	jne	.LBB2_1
.LBB2_5:
	movq	%rcx, %rax
	addq	$136, %rsp
	.cfi_def_cfa_offset 24
	popq	%rbx
	.cfi_def_cfa_offset 16
	popq	%r14
	.cfi_def_cfa_offset 8
	retq
.LBB2_1:
	.cfi_def_cfa_offset 160
	movq	%rcx, %r14
	movabsq	$numba_gil_ensure, %rcx
	leaq	124(%rsp), %rdi
	movl	%eax, %ebx
	callq	*%rcx
	testl	%ebx, %ebx
	jg	.LBB2_2
	movl	%ebx, %eax
	cmpl	$-1, %ebx
	je	.LBB2_4
	cmpl	$-3, %eax
	jne	.LBB2_3
	movabsq	$PyExc_StopIteration, %rdi
	movabsq	$PyErr_SetNone, %rax
	callq	*%rax
	jmp	.LBB2_4
.LBB2_3:
	movabsq	$PyExc_SystemError, %rdi
	movabsq	$".const.unknown error when calling native function.2", %rsi
	movabsq	$PyErr_SetString, %rax
	callq	*%rax
.LBB2_4:
	movabsq	$".const.<numba.core.cpu.CPUContext>", %rdi
	movabsq	$PyUnicode_FromString, %rax
	callq	*%rax
	movq	%rax, %rbx
	movabsq	$PyErr_WriteUnraisable, %rax
	movq	%rbx, %rdi
	callq	*%rax
	movabsq	$Py_DecRef, %rax
	movq	%rbx, %rdi
	callq	*%rax
	movabsq	$numba_gil_release, %rax
	leaq	124(%rsp), %rdi
	callq	*%rax
	movq	%r14, %rcx
	jmp	.LBB2_5
.LBB2_2:
	movabsq	$PyErr_Clear, %rax
	callq	*%rax
.Lfunc_end2:
	.size	cfunc._ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx, .Lfunc_end2-cfunc._ZN8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx
	.cfi_endproc

	.weak	NRT_decref
	.p2align	4
	.type	NRT_decref,@function
NRT_decref:
	.cfi_startproc
	testq	%rdi, %rdi
	je	.LBB3_2
	#MEMBARRIER
	lock		decq	(%rdi)
	je	.LBB3_3
.LBB3_2:
	retq
.LBB3_3:
	movabsq	$NRT_MemInfo_call_dtor, %rax
	#MEMBARRIER
	jmpq	*%rax
.Lfunc_end3:
	.size	NRT_decref, .Lfunc_end3-NRT_decref
	.cfi_endproc

	.weak	NRT_incref
	.p2align	4
	.type	NRT_incref,@function
NRT_incref:
	testq	%rdi, %rdi
	je	.LBB4_2
	lock		incq	(%rdi)
.LBB4_2:
	retq
.Lfunc_end4:
	.size	NRT_incref, .Lfunc_end4-NRT_incref

	.type	.const.many,@object
	.section	.lrodata,"al",@progbits
.const.many:
	.asciz	"many"
	.size	.const.many, 5

	.type	_ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx,@object
	.comm	_ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx,8,8
	.type	".const.missing Environment: _ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx",@object
	.p2align	4, 0x0
".const.missing Environment: _ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx":
	.asciz	"missing Environment: _ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx"
	.size	".const.missing Environment: _ZN08NumbaEnv8__main__4manyB2v1B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedE5ArrayIdLi2E1C7mutable7alignedEx", 176

	.type	".const.can't unbox array from PyObject into native value.  The object maybe of a different type",@object
	.p2align	4, 0x0
".const.can't unbox array from PyObject into native value.  The object maybe of a different type":
	.asciz	"can't unbox array from PyObject into native value.  The object maybe of a different type"
	.size	".const.can't unbox array from PyObject into native value.  The object maybe of a different type", 89

	.type	".const.unknown error when calling native function",@object
	.p2align	4, 0x0
".const.unknown error when calling native function":
	.asciz	"unknown error when calling native function"
	.size	".const.unknown error when calling native function", 43

	.type	".const.unknown error when calling native function.2",@object
	.p2align	4, 0x0
".const.unknown error when calling native function.2":
	.asciz	"unknown error when calling native function"
	.size	".const.unknown error when calling native function.2", 43

	.type	".const.<numba.core.cpu.CPUContext>",@object
	.p2align	4, 0x0
".const.<numba.core.cpu.CPUContext>":
	.asciz	"<numba.core.cpu.CPUContext>"
	.size	".const.<numba.core.cpu.CPUContext>", 28

	.type	_ZN08NumbaEnv8__main__5sweepB2v2B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedEx23Literal_5bint_5d_284_294pack4pack4pack4pack4pack,@object
	.comm	_ZN08NumbaEnv8__main__5sweepB2v2B56c8tJTIeFIjxB2IKSgI4CrvQCk0Z4yRYcWsBAK4JJIqUWsIgmAA_3d_3dE5ArrayIdLi2E1C7mutable7alignedEx23Literal_5bint_5d_284_294pack4pack4pack4pack4pack,8,8
	.section	".note.GNU-stack","",@progbits
